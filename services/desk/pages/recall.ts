// What became of a hold or a recall? One bar that adds up to what was frozen, whom to tell, and by bay.
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askCloseRecall,
  askGiveCalls,
  askMatter,
  askRelease,
  askSinceOpened,
  askWiden,
  type MatterQuery,
  type MatterQueryVariables,
  type SinceOpenedQuery,
  type SinceOpenedQueryVariables,
} from '../asks/recall.ts'
import { recallBar, recallSentence } from '../drawings/recall-bar.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { asItStood, type Said, sheet } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { Decisions } from '../parts/decisions.ts'
import { type Column, figure, table } from '../parts/figure.ts'
import { marksView } from '../parts/marks.ts'
import { Since } from '../parts/since.ts'
import { momentWords } from '../words/moment.ts'
import { addressOfThing } from '../words/next-questions.ts'
import { counted, countWords } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import { thingWords } from '../words/standing.ts'
import {
  type Hold,
  isFound,
  missingWords,
  type Recall,
  spotWords,
  type ToFind,
  toFindIn,
} from './covered.ts'
import { decideForm } from './decide-form.ts'
import { MattersPage } from './matters.ts'
import css from './recall.css?inline'

wear(css)

export function openRecall(desk: Desk, parameters: URLSearchParams): Page {
  const of = parameters.get('of') ?? ''
  return of === '' ? new MattersPage(desk) : new RecallPage(desk, of)
}

class RecallPage implements Page {
  readonly #desk: Desk
  readonly #of: string
  readonly #asked: Asked<MatterQuery, MatterQueryVariables>
  readonly #sinceOpened: Asked<SinceOpenedQuery, SinceOpenedQueryVariables>
  readonly #decisions: Decisions
  readonly #since = new Since()

  constructor(desk: Desk, of: string) {
    this.#desk = desk
    this.#of = of
    const redraw = () => desk.redraw()
    this.#asked = new Asked(askMatter, redraw)
    this.#sinceOpened = new Asked(askSinceOpened, redraw)
    this.#decisions = new Decisions(redraw, () => void this.#ask())
    void this.#ask()
  }

  title(): string {
    return `What became of ${thingWords(this.#of)}?`
  }

  hear(news: News): void {
    this.#since.hear(news)
  }

  close(): void {
    this.#decisions.end()
  }

  view(): TemplateResult {
    return sheet<MatterQuery>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`${this.title()}`,
      empty: html``,
      said: ({ node }) => {
        const stood = asItStood(addressOfThing(this.#of), this.#asked)
        if (node?.__typename === 'Recall') return { ...this.#recallSaid(node), ...stood }
        if (node?.__typename === 'Hold') return { ...this.#holdSaid(node), ...stood }
        return { answer: `There is no ${thingWords(this.#of)}.` }
      },
    })
  }

  async #ask(): Promise<void> {
    this.#since.clear()
    await this.#asked.ask({ of: this.#of })
    const node = this.#asked.data?.node
    const answer = node?.__typename === 'Recall' ? node.basedOn.at(-1) : undefined
    if (answer !== undefined) await this.#sinceOpened.ask({ answer })
  }

  #recallSaid(recall: Recall): Said {
    const { found, clocks, calls, say, cautions, partsMissing, state, closedBecause } = recall
    const people = calls.edges.map(({ node }) => node)
    const told = people.filter(({ toldAt }) => toldAt !== null).length
    return {
      answer: `${state === 'CLOSED' ? 'Closed. ' : ''}${countWords(found.notKnown)} of ${counted(found.castings, 'casting')} are still to be found.`,
      gaps: missingWords(partsMissing),
      since: this.#since.view(() => void this.#ask()),
      body: html`
        ${openedView(recall)}
        ${closedBecause === null ? nothing : html`<p>Closed: ${closedBecause}</p>`}
        ${figure({
          title: 'What became of what was frozen',
          svg: recallBar(found, this.#desk.room),
          sentence: recallSentence(found),
          table: table({
            caption: 'Castings by what became of them',
            columns: PARTS,
            rows: [...found.parts, { became: 'NOT_KNOWN', castings: found.notKnown }],
          }),
        })}
        ${this.#sinceView(recall)}
        <h3>Customers told: ${countWords(told)} of ${countWords(calls.totalCount)}</h3>
        ${table({ caption: 'Customers, most castings first', columns: CALLS, rows: people, empty: 'None of it was shipped.' })}
        ${state === 'OPEN' && people.length > 0 ? this.#giveForm(people) : nothing}
        ${bayView(recall)}
        <h3>Words for reps</h3>
        <blockquote class="say">${say ?? 'None were written: the standing words of the plant are said.'}</blockquote>
        ${clocks.length === 0 ? nothing : html`<h3>Limits that others set</h3>${table({ caption: 'Which of them hold is for counsel', columns: CLOCKS, rows: clocks })}`}
        ${state === 'OPEN' ? this.#closeForm(recall) : nothing}
      `,
      next: [{ sentence: 'Which packs are to be found, one by one?', address: floorOf(recall.id) }],
      cautions,
    }
  }

  #holdSaid(hold: Hold): Said {
    const { covers, state, partsMissing, say } = hold
    const rows = toFindIn(hold)
    const left = rows.filter((row) => !isFound(row)).length
    return {
      answer:
        state === 'CLOSED'
          ? 'All of it was released.'
          : `${counted(covers.totalCount, 'thing is', 'things are')} on hold; ${leftWords(left, rows.length)}.`,
      gaps: missingWords(partsMissing),
      since: this.#since.view(() => void this.#ask()),
      body: html`
        ${openedView(hold)}
        ${say === null ? nothing : html`<h3>Words for reps</h3><blockquote class="say">${say}</blockquote>`}
        ${bayView(hold)}
        ${
          state === 'OPEN'
            ? decideForm({
                ...{ title: 'Release all that is still held', label: 'Why it may go' },
                sentence: `This will release hold ${hold.number} in your name.`,
                decision: this.#decisions.of('release'),
                publish: (reason) =>
                  this.#decisions.publish(
                    'release',
                    askRelease,
                    (reportId) => ({ input: { reportId, hold: hold.id, reason, of: null } }),
                    ({ releaseHold }) => releaseHold,
                  ),
              })
            : nothing
        }
      `,
      next: [{ sentence: 'Which packs are to be found, one by one?', address: floorOf(hold.id) }],
    }
  }

  #sinceView({ id, number, say, state }: Recall): TemplateResult | typeof nothing {
    const node = this.#sinceOpened.data?.node
    const since = node?.__typename === 'Reach' ? node.since : null
    if (!since) return nothing
    const widen = decideForm({
      ...{ title: 'Widen the recall', label: 'Why' },
      sentence: `This will make recall ${number} wider by what it lacks, in your name.`,
      decision: this.#decisions.of('widen'),
      publish: (reason) =>
        this.#decisions.publish(
          'widen',
          askWiden,
          (reportId) => ({
            input: {
              ...{ reportId, recall: id, answer: since.answer, reason, say: say ?? '' },
              ...{ due: null, evenIfChanged: false },
            },
          }),
          ({ openRecall }) => openRecall,
        ),
    })
    return html`<h3>Since it was opened</h3>
      <p>${plain(since.sentence)}</p>
      ${since.joined > 0 && state === 'OPEN' ? widen : nothing}`
  }

  #giveForm(people: readonly Call[]): TemplateResult {
    const give = this.#decisions.of('give')
    const publish = (event: SubmitEvent) => {
      event.preventDefault()
      const said = new FormData(event.currentTarget as HTMLFormElement)
      const customers = said.getAll('customer').map(String)
      if (customers.length === 0) return
      if (give.outcome) give.clear()
      void this.#decisions.publish(
        'give',
        askGiveCalls,
        (reportId) => ({
          input: { reportId, recall: this.#of, customers, to: String(said.get('to')).trim() },
        }),
        ({ giveCalls }) => giveCalls,
      )
    }
    return html`<details>
      <summary>Give calls to a rep</summary>
      <form class="plain decide" @submit=${publish}>
        <fieldset class="several">
          <legend>Which</legend>
          ${people.map(({ customer }) => html`<label><input type="checkbox" name="customer" value=${customer} /> ${customer}</label>`)}
        </fieldset>
        <label>To the rep who signs in as <input name="to" required autocomplete="off" /></label>
        <button ?disabled=${give.isUnderWay}>Give them</button>
        ${give.view()}
      </form>
    </details>`
  }

  #closeForm({ id, number, found }: Recall): TemplateResult {
    return decideForm({
      ...{ title: 'Close with report', label: 'Why the rest may stay open' },
      sentence: `This will close recall ${number} in your name, with ${counted(found.notKnown, 'casting')} not found.`,
      decision: this.#decisions.of('close'),
      publish: (reason) =>
        this.#decisions.publish(
          'close',
          askCloseRecall,
          (reportId) => ({ input: { reportId, recall: id, reason } }),
          (data) => data.closeRecall,
        ),
    })
  }
}

type Call = Recall['calls']['edges'][number]['node']

function openedView({ at, reason, due }: Recall | Hold): TemplateResult {
  return html`<p>Since ${momentWords(at)}${due === null ? '' : `, to be decided by ${momentWords(due)}`}: ${reason}</p>`
}

function floorOf(id: string): string {
  return `/floor?${new URLSearchParams({ of: id })}`
}

function leftWords(left: number, shown: number): string {
  if (shown === 0) return 'none of it stands in the plant'
  return `${countWords(left)} of ${countWords(shown)} shown here are not dealt with`
}

function bayView(matter: Recall | Hold): TemplateResult {
  const rows = toFindIn(matter)
  const { totalCount, edges } = matter.covers
  const more = totalCount - edges.length
  return html`<h3>By bay</h3>
    ${table({
      caption: `${countWords(rows.filter(isFound).length)} of ${counted(rows.length, 'thing')} found`,
      empty: 'None of it stands in the plant.',
      columns: BAY,
      rows,
    })}
    ${more > 0 ? html`<p>${counted(more, 'thing more is', 'things more are')} covered and not shown.</p>` : nothing}`
}

const BAY: Column<ToFind>[] = [
  { head: 'Bay', isMarks: true, cell: spotWords },
  {
    head: 'What',
    isHead: true,
    cell: ({ id, marks }) =>
      html`<a href=${addressOfThing(id)}>${thingWords(id)}</a> ${marksView(marks)}`,
  },
  { head: 'Product', cell: ({ product }) => product },
  { head: 'Castings', isNumber: true, cell: ({ castings }) => countWords(castings) },
  { head: 'Found', cell: (row) => (isFound(row) ? '☑ found' : `☐ ${countWords(row.dealtWith)}`) },
]

const PARTS: Column<{ became: string; castings: number }>[] = [
  {
    head: 'Became',
    isHead: true,
    cell: ({ became }) => became.toLowerCase().replaceAll('_', ' '),
  },
  { head: 'Castings', isNumber: true, cell: ({ castings }) => countWords(castings) },
]

const CALLS: Column<Call>[] = [
  { head: 'Customer', isHead: true, cell: ({ customer }) => customer },
  { head: 'Castings', isNumber: true, cell: ({ castings }) => countWords(castings) },
  { head: 'Told', cell: ({ toldAt }) => (toldAt === null ? 'not yet' : momentWords(toldAt)) },
  { head: 'Answered for', isNumber: true, cell: ({ answered }) => countWords(answered) },
  { head: 'Given to', cell: ({ givenTo }) => givenTo ?? 'nobody' },
]

const CLOCKS: Column<Recall['clocks'][number]>[] = [
  { head: 'What', isHead: true, cell: ({ duty }) => duty },
  { head: 'By', cell: ({ due }) => momentWords(due) },
  { head: 'Source', cell: ({ source }) => source },
]
