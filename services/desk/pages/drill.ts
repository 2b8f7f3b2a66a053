// Can a pack be traced in time? A drill on the clock: started, ended, and kept as evidence.
import { html, nothing, type TemplateResult } from 'lit-html'
import { askDrills, askEndDrill, askStartDrill, type DrillsQuery } from '../asks/drill.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { Decisions } from '../parts/decisions.ts'
import { type Column, table } from '../parts/figure.ts'
import { Since } from '../parts/since.ts'
import { durationWords, momentWords } from '../words/moment.ts'
import { addressOfThing } from '../words/next-questions.ts'
import { chanceWords, counted, countWords } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import { thingWords } from '../words/standing.ts'

/** What each answer of a drill is, by how its number begins. */
const ANSWERS: Readonly<Record<string, string>> = {
  origins: 'the way back',
  reach: 'the way forward',
}

type Drill = DrillsQuery['drills']['edges'][number]['node']

export function openDrill(desk: Desk, parameters: URLSearchParams): Page {
  return new DrillPage(desk, parameters.get('of') ?? '')
}

class DrillPage implements Page {
  readonly #desk: Desk
  /** The drill asked for, shown first. */
  readonly #of: string
  readonly #asked: Asked<DrillsQuery, object>
  readonly #decisions: Decisions
  readonly #since = new Since()

  constructor(desk: Desk, of: string) {
    this.#desk = desk
    this.#of = of
    this.#asked = new Asked<DrillsQuery, object>(askDrills, () => desk.redraw())
    this.#decisions = new Decisions(
      () => desk.redraw(),
      () => this.#ask(),
    )
    this.#ask()
  }

  title(): string {
    return 'Can a pack be traced in time?'
  }

  hear(news: News): void {
    this.#since.hear(news)
  }

  close(): void {
    this.#decisions.end()
  }

  view(): TemplateResult {
    return sheet<DrillsQuery>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`Can a pack be traced in time, both ways?`,
      empty: html``,
      said: (data) => this.#said(data),
    })
  }

  #ask(): void {
    this.#since.clear()
    void this.#asked.ask({})
  }

  #said({ drills }: DrillsQuery): Said {
    const all = drills.edges.map(({ node }) => node)
    const shown = all.find(({ id }) => id === this.#of) ?? all[0]
    return {
      answer: shown ? drillSentence(shown) : 'No drill is on record.',
      since: this.#since.view(() => this.#ask()),
      body: html`
        ${shown ? this.#drillView(shown) : nothing}
        ${this.#startForm()}
        ${all.length > 1 ? table({ caption: 'Drills, newest first', columns: DRILLS, rows: all }) : nothing}
      `,
      cautions: [
        {
          sentence:
            'Four hours for both ways and the balance are usual in schemes for food; from memory, no source.',
        },
      ],
    }
  }

  #drillView(drill: Drill): TemplateResult {
    const { id, state, at, picked, laps, partsMissing, covers, answers } = drill
    const name = `end ${id}`
    const end = () =>
      this.#decisions.publish(
        name,
        askEndDrill,
        (reportId) => ({ input: { reportId, drill: id } }),
        ({ endDrill }) => endDrill,
      )
    return html`
      <dl class="facts">
        <dt>Run on</dt><dd>${covers.edges.map(({ node }) => thingWords(node.id)).join(', ') || 'not known yet'}, picked ${picked}</dd>
        <dt>Started</dt><dd>${momentWords(at)}</dd>
        ${answers.length === 0 ? nothing : html`<dt>Kept as evidence</dt><dd>${answers.map((answer, i) => html`${i > 0 ? ', ' : ''}<a href=${addressOfThing(answer)}>${ANSWERS[answer.split(':')[0]!] ?? 'another answer'}</a>`)}, as ${answers.length === 1 ? 'it was' : 'they were'} given</dd>`}
        ${partsMissing === 0 ? nothing : html`<dt>Gaps</dt><dd>${counted(partsMissing, 'part')} of what it covers did not come in.</dd>`}
      </dl>
      ${laps.length === 0 ? nothing : table({ caption: 'How long each part took', columns: LAPS, rows: laps })}
      ${state === 'OPEN' ? html`<p><button type="button" ?disabled=${this.#decisions.of(name).isUnderWay} @click=${end}>End the drill: trace it both ways</button></p>` : nothing}
      ${this.#decisions.of(name).view()}
    `
  }

  #startForm(): TemplateResult {
    const start = this.#decisions.of('start')
    const publish = (event: SubmitEvent) => {
      event.preventDefault()
      const said = new FormData(event.currentTarget as HTMLFormElement).get('of')
      const named = String(said ?? '').trim()
      const of = named === '' ? null : named.includes(':') ? named : `pack:${named}`
      void this.#decisions.publish(
        'start',
        askStartDrill,
        (reportId) => ({ input: { reportId, of } }),
        ({ startDrill }) => startDrill,
      )
    }
    return html`<form class="plain start" @submit=${publish}>
      <h3>Another drill</h3>
      <p>This will start a drill on the clock in your name. <label>On <input name="of" autocomplete="off" placeholder="a pack picked by chance" /></label>
        <button ?disabled=${start.isUnderWay}>Start the clock</button></p>
      ${start.view()}
    </form>`
  }
}

function drillSentence({ number, state, at, castings, accounted, laps }: Drill): string {
  if (state === 'OPEN' || castings === null || accounted === null)
    return `Drill ${number} has been on the clock since ${momentWords(at)}.`
  const whole = laps.find(({ part }) => part === 'from start to end')
  const share = castings === 0 ? 'nothing' : chanceWords(accounted / castings)
  return (
    `Drill ${number}: ${castings === accounted ? 'all' : share} of ${countWords(castings)} castings accounted for` +
    `${whole ? `, in ${durationWords(whole.seconds)}` : ''}.`
  )
}

const LAPS: Column<Drill['laps'][number]>[] = [
  { head: 'Part', isHead: true, cell: ({ part }) => plain(part) },
  { head: 'Took', isNumber: true, cell: ({ seconds }) => durationWords(seconds) },
]

const DRILLS: Column<Drill>[] = [
  {
    head: 'Drill',
    isHead: true,
    cell: ({ id, number }) =>
      html`<a href=${`/drill?${new URLSearchParams({ of: id })}`}>${number}</a>`,
  },
  { head: 'Started', cell: ({ at }) => momentWords(at) },
  { head: 'Came to', cell: drillSentence },
]
