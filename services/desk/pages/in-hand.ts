// Where everything starts: what is this that I hold, and what can be asked of it?
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askMarksInHand,
  askNewest,
  askThingsInHand,
  type MarksInHandQuery,
  type NewestQuery,
  type ThingsInHandQuery,
} from '../asks/in-hand.ts'
import { askReportsIn } from '../asks/reports-in.ts'
import { Asked } from '../frame/asked.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { type Column, table } from '../parts/figure.ts'
import { restsView } from '../parts/rests.ts'
import { type Next, nextsOf, questionsOf } from '../words/next-questions.ts'
import { chanceWords } from '../words/number.ts'
import { thingWords } from '../words/standing.ts'
import css from './in-hand.css?inline'

wear(css)

type HandAnswer = ThingsInHandQuery | MarksInHandQuery

/** What was found in a text, for whichever role. */
interface FoundInText {
  offset: number
  length: number
  written: string
  label: string
  nexts: Next[]
  /** What it may be, where that is unclear. */
  candidates: { label: string; because: string; fit: number; nexts: Next[] }[]
}

export function openInHand(desk: Desk, parameters: URLSearchParams): Page {
  const text = parameters.get('hand') ?? ''
  return text === '' ? new EmptyHands(desk) : new InHandPage(desk, text)
}

const TRACING = ['quality', 'analyst']

class InHandPage implements Page {
  readonly #desk: Desk
  readonly #text: string
  readonly #asked: Asked<HandAnswer, { text: string }>

  constructor(desk: Desk, text: string) {
    this.#desk = desk
    this.#text = text
    const isTracing = desk.who.roles.some((role) => TRACING.includes(role))
    this.#asked = new Asked<HandAnswer, { text: string }>(
      isTracing ? askThingsInHand : askMarksInHand,
      () => desk.redraw(),
    )
    void this.#ask()
  }

  title(): string {
    return `What is ${shortened(this.#text)}?`
  }

  view(): TemplateResult {
    return sheet<HandAnswer>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`What is ${shortened(this.#text)}?`,
      empty: html``,
      said: (data) => this.#said(data),
    })
  }

  async #ask(): Promise<void> {
    await this.#asked.ask({ text: this.#text })
    const { standing } = this.#asked
    if (standing.is !== 'answered') return
    const [only, ...others] = foundIn(standing.data)
    const [first] = only?.nexts ?? []
    // What can be one thing only needs no page in between.
    if (first && others.length === 0) this.#desk.go(first.address, { instead: true })
  }

  #said(data: HandAnswer): Said {
    const found = foundIn(data)
    if (found.length === 0)
      return {
        answer: data.inHand.sentence,
        body: html`<p>Tried: ${data.inHand.tried.join(', ')}.</p>`,
        next: questionsOf(this.#desk.who.roles),
      }
    return {
      answer: data.inHand.sentence,
      body: html`
        ${this.#text === found[0]!.written ? nothing : textView(this.#text, found)}
        <ol class="found">${found.map(foundView)}</ol>
      `,
    }
  }
}

/** The text as it was given, with what was found in it underlined. */
function textView(text: string, found: readonly FoundInText[]): TemplateResult {
  let at = 0
  const parts = found.map(({ offset, length }, i) => {
    const before = text.slice(at, offset)
    at = offset + length
    const show = (event: Event) => {
      event.preventDefault()
      document.getElementById(`found-${i}`)?.focus()
    }
    return html`${before}<a href=${`#found-${i}`} @click=${show}>${text.slice(offset, at)}</a>`
  })
  return html`<blockquote class="held" aria-label="What you hold">${parts}${text.slice(at)}</blockquote>`
}

function foundView({ label, written, nexts, candidates }: FoundInText, i: number): TemplateResult {
  return html`<li id=${`found-${i}`} tabindex="-1">
    <h3>${candidates.length > 0 ? written : label}</h3>
    ${candidates.length > 0 ? table({ caption: `${written} may be one of these`, columns: CANDIDATE, rows: candidates }) : nextsView(nexts)}
  </li>`
}

type Candidate = FoundInText['candidates'][number]

const CANDIDATE: Column<Candidate>[] = [
  {
    head: 'What it may be',
    isHead: true,
    cell: ({ label, nexts: [first] }) =>
      first ? html`<a href=${first.address}>${label}</a>` : label,
  },
  { head: 'Fit', isNumber: true, cell: ({ fit }) => chanceWords(fit) },
  { head: 'Why', cell: ({ because }) => because },
]

function nextsView(nexts: readonly Next[]): TemplateResult {
  return html`<ul>${nexts.map(({ sentence, address }) => html`<li><a href=${address}>${sentence}</a></li>`)}</ul>`
}

function foundIn({ inHand }: HandAnswer): FoundInText[] {
  if ('things' in inHand)
    return inHand.things.map(({ asks, candidates, ...thing }) => ({
      ...thing,
      nexts: nextsOf(asks),
      candidates: candidates.map((one) => ({ ...one, nexts: nextsOf(one.asks) })),
    }))
  return inHand.marks.map(({ mark, asks, candidates, ...found }) => ({
    ...found,
    label: `mark ${mark ?? found.written}`,
    nexts: nextsOf(asks),
    candidates: candidates.map(({ mark: candidate, ...one }) => ({
      ...one,
      label: candidate,
      nexts: nextsOf([{ sentence: candidate, question: 'INQUIRY', of: candidate }]),
    })),
  }))
}

const MOST_SIGNS = 40

function shortened(text: string): string {
  const line = text.trim().replace(/\s+/g, ' ')
  return line.length <= MOST_SIGNS ? line : 'this'
}

/** Nothing is held: how far the reports are in, what came last, and what one may ask all the same. */
class EmptyHands implements Page {
  readonly #desk: Desk
  readonly #reportsIn
  readonly #newest

  constructor(desk: Desk) {
    this.#desk = desk
    const redraw = () => desk.redraw()
    this.#reportsIn = new Asked(askReportsIn, redraw)
    this.#newest = new Asked<NewestQuery, object>(askNewest, redraw)
    void this.#reportsIn.ask({})
    if (desk.who.roles.some((role) => TRACING.includes(role))) void this.#newest.ask({})
  }

  title(): string {
    return 'What do you hold?'
  }

  view(): TemplateResult {
    const { roles } = this.#desk.who
    const examples = examplesIn(this.#newest.data, roles)
    return sheet({
      ...{ desk: this.#desk, asked: this.#reportsIn },
      question: html`What do you hold?`,
      empty: html``,
      said: ({ reportsIn }) => ({
        answer: 'Type, scan or paste it above; or ask one of these.',
        gaps: reportsIn.verdict === 'WHOLE' ? [] : [reportsIn.sentence],
        body: html`
          <nav aria-label="Questions" class="questions">${nextsView(questionsOf(roles))}</nav>
          ${examples.length > 0 ? html`<section class="newest"><h3>What came last, to try it on</h3>${nextsView(examples)}</section>` : nothing}
        `,
        rests: restsView(reportsIn, this.#desk),
      }),
    })
  }
}

function examplesIn(newest: NewestQuery | undefined, roles: readonly string[]): Next[] {
  const [pack] = newest?.packs.edges ?? []
  const [heat] = newest?.heats.edges ?? []
  const [lot] = newest?.lots.edges ?? []
  const from = (id: string, label: string) => ({
    ...{ sentence: `Where did ${label} come from?`, question: 'ORIGINS', of: id },
  })
  const packWords = pack && [thingWords(pack.node.id), pack.node.marks[0]].filter(Boolean)
  return nextsOf([
    ...(pack ? [from(pack.node.id, packWords!.join(', '))] : []),
    ...(heat ? [from(heat.node.id, thingWords(heat.node.id))] : []),
    ...(lot && roles.includes('quality')
      ? [
          {
            sentence: `Where did ${thingWords(lot.node.id)}, ${lot.node.material ?? 'material not told'}, go?`,
            ...{ question: 'REACH', of: lot.node.id },
          },
        ]
      : []),
  ])
}
