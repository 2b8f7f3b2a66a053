// Where the castings of a reach are now: places, customers, and packs.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { FoundFragment, PacksFragment } from '../../asks/reach.ts'
import { table } from '../../parts/figure.ts'
import { chanceWords, counted, countWords } from '../../words/number.ts'
import { standingWords } from '../../words/standing.ts'

type Place = FoundFragment['places'][number]
type PackEdge = PacksFragment['edges'][number]
type CustomerEdge = FoundFragment['customers']['edges'][number]

const PLACES = {
  IN_PROCESS: 'in process',
  IN_STOCK: 'in stock',
  SHIPPED: 'shipped',
  SCRAPPED: 'scrapped',
  UNACCOUNTED: 'unaccounted',
} as const

export function placesView(
  { places, customers }: FoundFragment,
  deeds: TemplateResult | typeof nothing,
): TemplateResult {
  return html`<section>
    <h3>Where they are now</h3>
    ${table({
      caption: 'Castings to hold, by place',
      columns: [
        { head: 'place', isHead: true, cell: ({ place }: Place) => PLACES[place] },
        { head: '■ certain', isNumber: true, cell: ({ castings }) => countWords(castings.certain) },
        {
          head: '▨ possible',
          isNumber: true,
          cell: ({ castings }) => countWords(castings.possible),
        },
        {
          head: '? not known',
          isNumber: true,
          cell: ({ castings }) => countWords(castings.unknown),
        },
        {
          head: 'packs',
          isNumber: true,
          cell: ({ packs }) => (packs > 0 ? countWords(packs) : '–'),
        },
      ],
      rows: places,
    })}
    ${deeds}
    ${customers.totalCount > 0 ? customersView(customers) : nothing}
  </section>`
}

function customersView({ edges, totalCount }: FoundFragment['customers']): TemplateResult {
  return html`<details open>
    <summary>Shipped to ${counted(totalCount, 'customer')}</summary>
    ${table({
      caption: 'Customers, most first',
      columns: [
        { head: 'customer', isHead: true, cell: ({ node }: CustomerEdge) => node.name },
        { head: 'packs', isNumber: true, cell: ({ packs }) => countWords(packs) },
        { head: '■ certain', isNumber: true, cell: ({ castings }) => countWords(castings.certain) },
        {
          head: '▨ possible',
          isNumber: true,
          cell: ({ castings }) => countWords(castings.possible),
        },
        {
          head: '? not known',
          isNumber: true,
          cell: ({ castings }) => countWords(castings.unknown),
        },
      ],
      rows: edges,
    })}
    ${totalCount > edges.length ? html`<p>${countWords(totalCount - edges.length)} more in the file.</p>` : nothing}
  </details>`
}

export function packsView(
  answer: string,
  shown: readonly PackEdge[],
  all: number,
  more: TemplateResult | typeof nothing,
): TemplateResult {
  const file = (ending: string) => `/files/${encodeURIComponent(answer)}/packs.${ending}`
  return html`<section class="packs">
    <h3>Packs, likeliest first</h3>
    ${table({
      caption: `${countWords(shown.length)} of ${counted(all, 'pack')} that are not clear`,
      empty: 'No pack holds any of them.',
      columns: [
        { head: 'pack', isHead: true, cell: packView },
        { head: 'mark', isMarks: true, cell: ({ node }) => node.marks.join('\n') },
        { head: 'product', cell: ({ node }) => node.products.map(({ name }) => name).join(', ') },
        { head: 'where', cell: ({ place, spot }) => spotWords(PLACES[place], spot) },
        {
          head: 'castings',
          isNumber: true,
          cell: ({ node }) => (node.castings ? countWords(node.castings.value) : ''),
        },
        { head: 'chance', isNumber: true, cell: ({ chance }) => chanceWords(chance.value) },
        { head: 'expected', isNumber: true, cell: ({ expected }) => expectedWords(expected.value) },
        { head: 'stands', cell: ({ standing }) => standingWords(standing) },
      ],
      rows: shown,
    })}
    ${more}
    <p class="copies">Take a copy: <a href=${file('csv')} download>CSV</a>, <a href=${file('parquet')} download>Parquet</a>,
      <button type="button" class="plain-word" @click=${() => window.print()}>paper</button></p>
  </section>`
}

function packView({ node }: PackEdge): TemplateResult {
  return html`<a href=${`/origins?of=${encodeURIComponent(node.id)}`} .textContent=${node.id.slice('pack:'.length)}></a>`
}

/** Where it stands; of a shipment its number. */
function spotWords(place: string, spot: string | null): string {
  return spot ? `${place}, ${spot.replace(/^shipment:/, '')}` : place
}

function expectedWords(count: number): string {
  return count < 10 ? count.toFixed(1) : countWords(count)
}
