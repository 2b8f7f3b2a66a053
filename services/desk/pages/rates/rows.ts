// Groups side by side: figures, and on one axis what is plain, what is steadied, and all castings.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { DirectiveResult } from 'lit-html/directive.js'
import type { RatesQuery } from '../../asks/rates.ts'
import { type Interval, rateAxis, rateScale, rateStrip } from '../../drawings/rate-marks.ts'
import { type Column, table } from '../../parts/figure.ts'
import { dayWords } from '../../words/moment.ts'
import { countWords, percentWords } from '../../words/number.ts'
import { plain } from '../../words/plain.ts'

type Rates = Extract<RatesQuery['defectRates'], { __typename: 'Rates' }>
export type Row = Rates['rows']['edges'][number]['node']
type Estimate = Row['adjusted']

const WIDEST = 300
/** Of the room; figures need the rest. */
const PART = 0.27
const CELL = 96
/** Of what was charged a row names so many, those farthest from what is written first. */
const MATERIALS_SHOWN = 3

interface RowsParts {
  rows: readonly Row[]
  overall: Estimate
  room: number
  /** Compares with the group. */
  against(group: readonly string[]): string
  /** Lists the heats of a stretch. */
  heats(stretch: NonNullable<Row['stretch']>): string
}

/** One row a group. */
export function rowsTable(parts: RowsParts): DirectiveResult {
  const { rows, room } = parts
  const marks = rows.map(markOf)
  const all = endsOf(parts.overall)
  const scale = rateScale(marks, all.value, Math.min(WIDEST, Math.round(room * PART)))
  const isRecipe = rows.some(({ charged }) => charged.length > 0)
  const columns: Column<Row>[] = [
    { head: 'Group', isHead: true, cell: (row) => groupView(row, parts) },
    { head: 'Castings', isNumber: true, cell: ({ counted }) => countWords(counted.castings) },
    {
      head: html`<span class="aloud">Drawn</span><span class="drawn" .innerHTML=${rateAxis(scale)}></span>`,
      cell: (row) =>
        html`<span class="drawn" .innerHTML=${rateStrip(markOf(row), all, scale)}></span>`,
    },
    { head: 'Plain', isNumber: true, cell: ({ counted }) => rateView(counted.rate) },
    { head: 'Adjusted', isNumber: true, cell: ({ adjusted }) => percentWords(adjusted.value) },
    { head: 'Steadied', isNumber: true, cell: ({ steadied }) => percentWords(steadied.value) },
    { head: 'Apart', cell: apartWords },
    ...(isRecipe
      ? [{ head: html`<span class="charged">As weighed / as written</span>`, cell: chargedView }]
      : []),
  ]
  const beside = [parts.overall, ...scale.ends, ...scale.places]
  return table({ caption: 'Bad castings by group', columns, rows, beside })
}

function groupView(
  { group, stretch }: Row,
  { against, heats }: Pick<RowsParts, 'against' | 'heats'>,
) {
  return html`<a href=${against(group)} title="Compare the others with it">${plain(group.join(', '))}</a>
    ${stretch ? html`<a class="quiet since" href=${heats(stretch)} title="The heats of that time">from ${dayWords(stretch.from)}</a>` : nothing}`
}

/** By two: the first downwards, the second across; a small interval, a number and its count each. */
export function rowsGrid(rows: readonly Row[], overall: Estimate): DirectiveResult {
  const all = endsOf(overall)
  const scale = rateScale(rows.map(markOf), all.value, CELL)
  const [down, across] = [0, 1].map((i) => [...new Set(rows.map(({ group }) => group[i]!))])
  const at = (first: string, second: string) =>
    rows.find(({ group }) => group[0] === first && group[1] === second)
  const caption = `Bad castings, each of 0 to ${percentWords(scale.ends[1])}`
  return table({
    ...{ caption, rows: down!, beside: rows },
    columns: [
      { head: 'Group', isHead: true, cell: (first) => plain(first) },
      ...across!.map((second) => ({
        head: plain(second),
        cell: (first: string) => {
          const row = at(first, second)
          if (!row) return html`<span class="quiet">none</span>`
          return html`<span class="drawn" .innerHTML=${rateStrip(markOf(row), all, scale)}></span>
            <span>${percentWords(row.counted.rate.value)}${row.toldApart ? ' apart' : ''}</span>
            <span class="quiet">of ${countWords(row.counted.castings)}</span>`
        },
      })),
    ],
  })
}

export function endsOf({ value, interval }: Estimate): Interval {
  return { value, low: interval?.low ?? value, high: interval?.high ?? value }
}

function markOf({ counted, steadied }: Row) {
  return { plain: endsOf(counted.rate), steadied: steadied.value }
}

function rateView(rate: Estimate): TemplateResult {
  const { low, high } = endsOf(rate)
  return html`${percentWords(rate.value)}
    <span class="quiet">${percentWords(low)} to ${percentWords(high)}</span>`
}

function apartWords({ toldApart, times }: Row): string {
  if (!toldApart) return 'not told apart'
  return times ? `told apart: ${Number(times.value.toPrecision(2))} times` : 'told apart'
}

function chargedView({ charged }: Row): string {
  const percent = (share: number | null) => (share === null ? '–' : Math.round(share * 100))
  const off = ({ weighed, written }: Row['charged'][number]) =>
    Math.abs((weighed ?? 0) - (written ?? 0))
  return [...charged]
    .sort((a, b) => off(b) - off(a))
    .slice(0, MATERIALS_SHOWN)
    .map(
      ({ material, weighed, written }) => `${material} ${percent(weighed)} / ${percent(written)}`,
    )
    .join(', ')
}
