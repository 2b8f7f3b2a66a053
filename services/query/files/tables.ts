// Tables of answers as files: each is a question like any other, asked page by page, so that a file has
// the numbers of the answer to the last digit, and its roles.
import type { Cell } from './csv.ts'

// biome-ignore lint/suspicious/noExplicitAny: an edge as the query below asks for it
type Edge = any

export interface Table {
  /** Which type of answer or matter has it. */
  of: string
  /** The connection it pages through. */
  connection: string
  /** What is asked of each edge. */
  edge: string
  columns: readonly (readonly [name: string, cell: (edge: Edge) => Cell])[]
}

const ESTIMATE = '{ value interval { low high } }'
const low = (estimate: Edge): Cell => estimate?.interval?.low ?? null
const high = (estimate: Edge): Cell => estimate?.interval?.high ?? null

/** By the name in the address of the file. */
export const TABLES: Readonly<Record<string, Table>> = {
  packs: {
    of: 'Reach',
    connection: 'packs',
    edge: `node { id marks } chance ${ESTIMATE} expected ${ESTIMATE} standing place spot`,
    columns: [
      ['pack', ({ node }) => node.id],
      ['marks', ({ node }) => node.marks.join(' ')],
      ['standing', ({ standing }) => standing],
      ['place', ({ place }) => place],
      ['spot', ({ spot }) => spot],
      ['chance', ({ chance }) => chance.value],
      ['chance_low', ({ chance }) => low(chance)],
      ['chance_high', ({ chance }) => high(chance)],
      ['expected_castings', ({ expected }) => expected.value],
      ['expected_castings_low', ({ expected }) => low(expected)],
      ['expected_castings_high', ({ expected }) => high(expected)],
    ],
  },
  pours: {
    of: 'Reach',
    connection: 'pours',
    edge: `node { id } share ${ESTIMATE} standing`,
    columns: [
      ['pour', ({ node }) => node.id],
      ['standing', ({ standing }) => standing],
      ['share', ({ share }) => share.value],
      ['share_low', ({ share }) => low(share)],
      ['share_high', ({ share }) => high(share)],
    ],
  },
  customers: {
    of: 'Reach',
    connection: 'customers',
    edge: `node { name } packs castings { certain possible unknown toHold }`,
    columns: [
      ['customer', ({ node }) => node.name],
      ['packs', ({ packs }) => packs],
      ['castings_certain', ({ castings }) => castings.certain],
      ['castings_possible', ({ castings }) => castings.possible],
      ['castings_not_known', ({ castings }) => castings.unknown],
      ['castings_to_hold', ({ castings }) => castings.toHold],
    ],
  },
  rates: {
    of: 'Rates',
    connection: 'rows',
    edge: `node { group counted { castings defective rate ${ESTIMATE} } adjusted ${ESTIMATE}
      steadied ${ESTIMATE} times ${ESTIMATE} chanceAlone toldApart }`,
    columns: [
      ['group', ({ node }) => node.group.join(', ')],
      ['castings', ({ node }) => node.counted.castings],
      ['defective', ({ node }) => node.counted.defective],
      ['rate', ({ node }) => node.counted.rate.value],
      ['rate_low', ({ node }) => low(node.counted.rate)],
      ['rate_high', ({ node }) => high(node.counted.rate)],
      ['adjusted', ({ node }) => node.adjusted.value],
      ['steadied', ({ node }) => node.steadied.value],
      ['times', ({ node }) => node.times?.value ?? null],
      ['times_low', ({ node }) => low(node.times)],
      ['times_high', ({ node }) => high(node.times)],
      ['chance_alone', ({ node }) => node.chanceAlone],
      ['told_apart', ({ node }) => node.toldApart],
    ],
  },
  covers: {
    of: 'Recall',
    connection: 'covers',
    edge: 'node { id } castings released',
    columns: [
      ['thing', ({ node }) => node.id],
      ['castings', ({ castings }) => castings],
    ],
  },
  calls: {
    of: 'Recall',
    connection: 'calls',
    edge: 'node { customer marks castings toldAt answered }',
    columns: [
      ['customer', ({ node }) => node.customer],
      ['marks', ({ node }) => node.marks.join(' ')],
      ['castings', ({ node }) => node.castings],
      ['told_at', ({ node }) => node.toldAt],
      ['castings_answered', ({ node }) => node.answered],
    ],
  },
}
