// Does the rate keep still? Point by point in the order the castings were made, down to the heats of a day.
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askPointByPoint,
  type PointByPointQuery,
  type PointByPointQueryVariables,
  type PointPer,
} from '../../asks/rates.ts'
import { pointByPoint, pointsSentence } from '../../drawings/point-by-point.ts'
import { Asked } from '../../frame/asked.ts'
import type { Desk } from '../../frame/page.ts'
import { stateView } from '../../frame/sheet.ts'
import { figure, table } from '../../parts/figure.ts'
import { choice } from '../../parts/settings.ts'
import { dayWords, momentWords } from '../../words/moment.ts'
import { addressOfThing } from '../../words/next-questions.ts'
import { countWords, percentWords } from '../../words/number.ts'
import { plain } from '../../words/plain.ts'
import { thingWords } from '../../words/standing.ts'
import type { About } from '../looked-at.ts'

type Chart = Extract<PointByPointQuery['rateChart'], { __typename: 'RateChart' }>

/** What a point is, and of which stretch points are listed. */
export interface Pointed {
  per: PointPer | undefined
  /** First pours of listed points lie from the first to before the second; all when there is none. */
  listed: readonly [from: string, to: string] | undefined
}

const PER: Record<PointPer, string> = {
  INSPECTION: 'inspection by inspection',
  HEAT: 'heat by heat',
  SHIFT: 'shift by shift',
  DAY: 'day by day',
  WEEK: 'week by week',
}

const MOST_POINTS = 200
const DAY_MS = 86_400_000

export function pointedIn(parameters: URLSearchParams): Pointed {
  const per = parameters.get('per') ?? ''
  const [from, to] = (parameters.get('listed') ?? '').split(',')
  return {
    per: Object.hasOwn(PER, per) ? (per as PointPer) : undefined,
    listed: from && to ? [from, to] : undefined,
  }
}

export function pointedParameters({ per, listed }: Pointed): Record<string, string> {
  return { ...(per && { per }), ...(listed && { listed: listed.join() }) }
}

export class PointByPoint {
  readonly #desk: Desk
  readonly #asked: Asked<PointByPointQuery, PointByPointQueryVariables>

  constructor(desk: Desk) {
    this.#desk = desk
    this.#asked = new Asked(askPointByPoint, () => desk.redraw())
  }

  ask(question: Omit<PointByPointQueryVariables, 'points'>): void {
    void this.#asked.ask({ ...question, points: MOST_POINTS })
  }

  stop(): void {
    this.#asked.stop()
  }

  /** `go` is told what a point is to be, `address` leads to it. */
  view(
    { per = 'DAY', listed }: Pointed,
    { go, address }: { go(per: PointPer): void; address(pointed: Pointed): string },
  ): TemplateResult {
    const outcome = this.#asked.data?.rateChart
    const pick = (event: Event) => go((event.target as HTMLSelectElement).value as PointPer)
    const options = Object.entries(PER).map(([value, words]) => ({ value, words }))
    return html`<section aria-label="Whether the rate keeps still">
      <h3 class="sentence" @change=${pick}>Does the rate keep still,
        ${choice({ name: 'per', label: 'Point by point', value: per, options })}?</h3>
      ${stateView({ desk: this.#desk, asked: this.#asked })}
      ${outcome === undefined ? nothing : outcome.__typename === 'RateChart' ? this.#chartView(outcome, listed, address) : html`<p>${plain(outcome.sentence)}</p>`}
    </section>`
  }

  #chartView(
    chart: Chart,
    listed: Pointed['listed'],
    address: (pointed: Pointed) => string,
  ): TemplateResult {
    const points = {
      ...chart,
      name: chart.name.map(nameWords),
      broken: new Set(chart.signals.map(({ point }) => point)),
    }
    const rows = chart.at
      .map((at, i) => ({ at, i }))
      .filter(({ at }) => !listed || isWithin(at, listed))
    const all = address({ per: chart.per, listed: undefined })
    return html`<p>${plain(chart.sentence)}</p>
      ${figure({
        title: 'Point by point, in the order the castings were made',
        svg: pointByPoint(points, this.#desk.room),
        sentence: `${pointsSentence(points)} The band is as wide as points usually differ.`,
        table: table({
          caption: listed
            ? `Poured from ${momentWords(listed[0])} to ${momentWords(listed[1])}`
            : 'Point by point',
          rows,
          beside: [chart],
          columns: [
            { head: 'Point', isHead: true, cell: ({ i }) => this.#pointView(chart, i, address) },
            {
              head: 'Bad of looked at',
              isNumber: true,
              cell: ({ i }) =>
                `${countWords(chart.found[i]!)} of ${countWords(chart.lookedAt[i]!)}`,
            },
            { head: 'Rate', isNumber: true, cell: ({ i }) => percentWords(chart.value[i]!) },
            {
              head: 'Usual',
              isNumber: true,
              cell: ({ i }) =>
                `${percentWords(Math.max(0, chart.lowerLimit[i]!))} to ${percentWords(chart.upperLimit[i]!)}`,
            },
            {
              head: 'What it did',
              cell: ({ i }) =>
                chart.signals
                  .filter(({ point }) => point === i)
                  .map(({ sentence }) => sentence)
                  .join(' '),
            },
          ],
        }),
        isOpen: listed !== undefined,
      })}
      ${listed ? html`<p><a href=${all}>List all points</a></p>` : nothing}
      ${chart.cautions.map(({ sentence }) => html`<p class="quiet">${sentence}</p>`)}`
  }

  /** What made the number: of a day its heats, of a heat where it came from, of an inspection its report. */
  #pointView(
    { per, name, at }: Chart,
    i: number,
    address: (pointed: Pointed) => string,
  ): TemplateResult | string {
    const words = nameWords(name[i]!)
    if (per === 'INSPECTION') return html`<a href=${addressOfThing(name[i]!)}>${words}</a>`
    if (per === 'HEAT')
      return html`<a href=${`/origins?${new URLSearchParams({ of: name[i]! })}`}>${words}</a>`
    const end = at[i + 1] ?? new Date(new Date(at[i]!).getTime() + 7 * DAY_MS).toISOString()
    return html`<a href=${address({ per: 'HEAT', listed: [at[i]!, end] })} title="Its heats">${words}</a>`
  }
}

/** A few days have heats to tell apart, a season has days. */
export function usualPer({ from, to }: About): PointPer {
  const days = (new Date(to).getTime() - new Date(from).getTime()) / DAY_MS
  if (days <= 14) return 'HEAT'
  return days <= 200 ? 'DAY' : 'WEEK'
}

function isWithin(at: string, [from, to]: NonNullable<Pointed['listed']>): boolean {
  const ms = Date.parse(at)
  return ms >= Date.parse(from) && ms < Date.parse(to)
}

/** "heat F1-2213", "11 April", "11 April 06:00 to 14:00". */
function nameWords(name: string): string {
  const [, day, shift = ''] = /^(\d{4}-\d\d-\d\d)( .+)?$/.exec(name) ?? []
  return day ? `${dayWords(`${day}T12:00`)}${shift}` : thingWords(name)
}
