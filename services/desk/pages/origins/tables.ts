// What was measured on the way, what touched it, and the lots in its metal.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { DirectiveResult } from 'lit-html/directive.js'
import { table } from '../../parts/figure.ts'
import { between, chanceWords, countWords, shareWords } from '../../words/number.ts'
import { standingWords } from '../../words/standing.ts'
import { figures, heatWords, massWords, type Units } from '../../words/units.ts'
import { type Found, linkTo } from './found.ts'

export function measuresView({ pours }: Found, units: Units): DirectiveResult {
  const rows = pours.edges.flatMap(({ node, chance }) =>
    node.measures.map((measure) => ({ pour: node.id, chance: chance.value, ...measure })),
  )
  return table({
    caption: 'Measured on the way, likeliest pours first',
    empty: 'Nothing was measured on the way.',
    rows,
    columns: [
      { head: 'Pour', isHead: true, cell: ({ pour }) => linkTo(pour) },
      { head: 'Chance', isNumber: true, cell: ({ chance }) => chanceWords(chance) },
      { head: 'Measured', cell: ({ quantity }) => quantity },
      {
        head: 'Value',
        isNumber: true,
        cell: (row) => valueWords(row.value.value, row.unit, units),
      },
      { head: 'Allowed', isNumber: true, cell: (row) => allowedWords(row, units) },
      {
        head: 'Within',
        cell: ({ outside }) =>
          outside ? html`<strong>OUTSIDE</strong>` : outside === false ? 'yes' : '',
      },
    ],
  })
}

/** In the unit of the plant where it is a temperature. Codes of units are those of UCUM. */
function valueWords(value: number, unit: string, units: Units): string {
  return unit === 'CEL' ? heatWords(value, units) : `${figures(value)} ${unit}`
}

type Measured = Found['pours']['edges'][number]['node']['measures'][number]

function allowedWords(row: Measured, units: Units): string {
  const { lowestAllowed: low, highestAllowed: high, unit } = row
  if (low !== null && high !== null)
    return `${valueWords(low, unit, units)} to ${valueWords(high, unit, units)}`
  if (low !== null) return `from ${valueWords(low, unit, units)}`
  return high === null ? '' : `up to ${valueWords(high, unit, units)}`
}

export function lotsView({ lots, unrecorded }: Found, units: Units): TemplateResult {
  const more = lots.totalCount - lots.edges.length
  return html`
    ${table({
      caption: 'Lots in its metal',
      empty: 'No lot is known in it.',
      rows: lots.edges,
      columns: [
        { head: 'Lot', isHead: true, cell: ({ node }) => linkTo(node.id) },
        { head: 'Material', cell: ({ node }) => node.material ?? '' },
        {
          head: 'Share',
          isNumber: true,
          cell: ({ share }) => `${shareWords(share.value)}${between(share.interval, shareWords)}`,
        },
        {
          head: 'In one casting',
          isNumber: true,
          cell: ({ grams }) => (grams ? massWords(grams.value / 1_000, units) : ''),
        },
        { head: 'By heel', isNumber: true, cell: ({ byHeel }) => shareWords(byHeel) },
        { head: 'By returns', isNumber: true, cell: ({ byReturns }) => shareWords(byReturns) },
      ],
    })}
    ${more > 0 ? html`<p class="quiet">${countWords(more)} more, each with less.</p>` : nothing}
    ${unrecorded.value > 0 ? html`<p class="quiet">${shareWords(unrecorded.value)} of its metal no report accounts for.</p>` : nothing}
  `
}

type Touch = Found['touches'][number]

/** Contacts likelier than this are read; the rest stands behind them. Unit: chance 0 to 1. */
const LIKELY = 0.01

export function touchesView({ touches }: Found): TemplateResult {
  const likely = touches.filter(({ chance }) => chance.value >= LIKELY)
  const rare = touches.filter(({ chance }) => chance.value < LIKELY)
  return html`${touchTable('Touched by', likely)}
    ${
      rare.length > 0
        ? html`<details>
          <summary>${countWords(rare.length)} more, each by less than ${chanceWords(LIKELY)}</summary>
          ${touchTable('Touched by, with a small chance', rare)}
        </details>`
        : nothing
    }`
}

function touchTable(caption: string, rows: readonly Touch[]): DirectiveResult {
  return table({
    ...{ caption, rows, empty: 'Nothing is known to have touched it.' },
    columns: [
      {
        head: 'What',
        isHead: true,
        cell: ({ thing, machine }) => (thing ? linkTo(thing.id) : `machine ${machine?.name ?? ''}`),
      },
      { head: 'Station', cell: ({ station }) => station.toLowerCase() },
      { head: 'Standing', cell: ({ standing }) => standingWords(standing) },
      { head: 'Chance', isNumber: true, cell: ({ chance }) => chanceWords(chance.value) },
    ],
  })
}
