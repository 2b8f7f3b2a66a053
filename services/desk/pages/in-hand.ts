// Where everything starts: what is this that I hold, and what can be asked of it?
import { html, type TemplateResult } from 'lit-html'
import { askReportsIn, type ReportsInQuery } from '../asks/reports-in.ts'
import { Asked } from '../frame/asked.ts'
import type { Desk, Page } from '../frame/page.ts'
import { restsView } from '../frame/rests.ts'
import { sheet } from '../frame/sheet.ts'

export function openInHand(desk: Desk, _parameters: URLSearchParams): Page {
  const asked = new Asked(askReportsIn, () => desk.redraw())
  void asked.ask({})
  return {
    title: () => 'What do you hold?',
    view: (): TemplateResult =>
      sheet<ReportsInQuery>({
        ...{ desk, asked },
        question: html`What do you hold?`,
        empty: html``,
        said: ({ reportsIn }) => ({ answer: reportsIn.sentence, rests: restsView(reportsIn) }),
      }),
  }
}
