// An answer given before, of a question that has no page to show it in: as it was said.
import { html, type TemplateResult } from 'lit-html'
import { askFormerAnswer, type FormerAnswerQuery } from '../asks/answer.ts'
import { Asked } from '../frame/asked.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { restsView } from '../parts/rests.ts'

export function openFormer(desk: Desk, parameters: URLSearchParams): Page {
  const asked = new Asked(askFormerAnswer, () => desk.redraw())
  const id = parameters.get('id') ?? ''
  if (id !== '') void asked.ask({ id })
  const title = () => asked.data?.answer?.question ?? 'What was answered?'
  return {
    title,
    view: (): TemplateResult =>
      sheet<FormerAnswerQuery>({
        ...{ desk, asked },
        said: (data) => said(data, desk),
        question: html`${title()}`,
        empty: html`<p>Scan the code of a printed answer, or type its number in hand.</p>`,
      }),
  }
}

function said({ answer }: FormerAnswerQuery, desk: Desk): Said {
  if (!answer) return { answer: 'There is no answer of that number.' }
  const { sentence, completeness, cautions, asOf, id } = answer
  const isWhole = completeness.verdict === 'WHOLE'
  return {
    ...{ answer: sentence, isWhole, cautions, asOf, number: id },
    gaps: isWhole ? [] : [completeness.sentence],
    rests: restsView(completeness, desk),
  }
}
