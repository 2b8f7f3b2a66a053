// Whom am I to call? One shop a row, words to say, that they were told, and what they still have.
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askAnswered,
  askCalls,
  askTold,
  type CallsQuery,
  type CallsQueryVariables,
} from '../asks/calls.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { asItStood, type Said, sheet } from '../frame/sheet.ts'
import { Decisions } from '../parts/decisions.ts'
import { marksView } from '../parts/marks.ts'
import { Since } from '../parts/since.ts'
import { momentWords } from '../words/moment.ts'
import { counted, countWords } from '../words/number.ts'
import { thingWords } from '../words/standing.ts'

type Call = CallsQuery['myCalls']['edges'][number]['node']

const OUTCOMES = [
  ['HELD', 'kept apart there'],
  ['RETURNED', 'sent back'],
  ['DESTROYED', 'destroyed'],
  ['SOLD', 'sold on'],
  ['NOT_FOUND', 'not found'],
] as const

export function openCalls(desk: Desk): Page {
  return new CallsPage(desk)
}

class CallsPage implements Page {
  readonly #desk: Desk
  readonly #asked: Asked<CallsQuery, CallsQueryVariables>
  readonly #decisions: Decisions
  readonly #since = new Since()

  constructor(desk: Desk) {
    this.#desk = desk
    this.#asked = new Asked(askCalls, () => desk.redraw())
    this.#decisions = new Decisions(
      () => desk.redraw(),
      () => this.#ask(),
    )
    this.#ask()
  }

  title(): string {
    return 'Whom am I to call?'
  }

  hear(news: News): void {
    this.#since.hear(news)
  }

  close(): void {
    this.#decisions.end()
  }

  view(): TemplateResult {
    return sheet<CallsQuery>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`Whom am I to call, and what have they still?`,
      empty: html``,
      said: (data) => this.#said(data),
    })
  }

  #ask(after: string | null = null): void {
    this.#since.clear()
    void this.#asked.ask({ after })
  }

  #said({ myCalls }: CallsQuery): Said {
    const { totalCount, edges, pageInfo } = myCalls
    const untold = edges.filter(({ node }) => node.toldAt === null).length
    const told = untold === 0 ? 'All shown were told.' : `${countWords(untold)} not told yet.`
    return {
      answer:
        totalCount === 0
          ? 'No call was given to you.'
          : `${counted(totalCount, 'shop was', 'shops were')} given to you. ${told}`,
      since: this.#since.view(() => this.#ask()),
      ...asItStood('/calls', this.#asked),
      body: html`
        ${edges.map(({ node }) => this.#callView(node))}
        ${pageInfo.hasNextPage ? html`<button type="button" @click=${() => this.#ask(pageInfo.endCursor)}>The next ones</button>` : nothing}
      `,
    }
  }

  #callView(call: Call): TemplateResult {
    const { recall, customer, marks, castings, say, toldAt, answered } = call
    const told = this.#decisions.of(`told ${recall} ${customer}`)
    const answer = this.#decisions.of(`answer ${recall} ${customer}`)
    const left = Math.max(0, castings - answered)
    return html`<article class="call" aria-label=${customer}>
      <h3>${customer}</h3>
      <p>Of ${thingWords(recall)}: ${counted(castings, 'casting')}, marked ${marks.length === 0 ? 'with nothing' : marksView(marks)}.
        ${toldAt === null ? 'Not told yet.' : `Told ${momentWords(toldAt)}.`}
        ${left === 0 ? 'All of it is answered for.' : `Of ${countWords(left)} nobody has said what became.`}</p>
      <blockquote class="say">${say.map((sentence) => html`<p>${sentence}</p>`)}</blockquote>
      ${toldAt === null ? html`<button type="button" ?disabled=${told.isUnderWay} @click=${() => this.#tell(call)}>Told</button>` : nothing}
      ${told.view()}
      ${left === 0 ? nothing : this.#answerForm(call, left)}
      ${answer.view()}
    </article>`
  }

  #tell({ recall, customer }: Call): void {
    void this.#decisions.publish(
      `told ${recall} ${customer}`,
      askTold,
      (reportId) => ({ input: { reportId, recall, customer } }),
      ({ recordTold }) => recordTold,
    )
  }

  #answerForm(call: Call, left: number): TemplateResult {
    const { recall, customer, marks } = call
    const name = `answer ${recall} ${customer}`
    const publish = async (event: SubmitEvent) => {
      event.preventDefault()
      const form = event.currentTarget as HTMLFormElement
      const said = new FormData(form)
      const lines = OUTCOMES.flatMap(([outcome]) => {
        const castings = Number(said.get(outcome) ?? 0)
        return castings > 0 ? [{ mark: String(said.get('mark')), castings, outcome }] : []
      })
      if (lines.length === 0) return
      // What was said before is said: this is more of it.
      if (this.#decisions.of(name).outcome) this.#decisions.of(name).clear()
      await this.#decisions.publish(
        name,
        askAnswered,
        (reportId) => ({ input: { reportId, recall, customer, lines } }),
        ({ recordAnswer }) => recordAnswer,
      )
      if (this.#decisions.of(name).outcome?.__typename === 'Published') form.reset()
    }
    return html`<form class="plain still" @submit=${publish}>
      <fieldset>
        <legend>What do they still have?</legend>
        <label>Mark <select name="mark">${marks.map((mark) => html`<option>${mark}</option>`)}</select></label>
        ${OUTCOMES.map(
          ([outcome, words]) => html`<label>${words}
            <input name=${outcome} type="number" min="0" max=${left} step="1" inputmode="numeric" /></label>`,
        )}
      </fieldset>
      <button ?disabled=${this.#decisions.of(name).isUnderWay}>Write it down</button>
    </form>`
  }
}
