// Tables of answers as files: each is a question like any other, asked page by page, so that a file has
// the numbers of the answer to the last digit, and its roles.
import type { Cell } from './csv.ts'

// biome-ignore lint/suspicious/noExplicitAny: an edge as the query below asks for it
type Edge = any

/** Moments are RFC 3339 text. */
export type ColumnForm = 'text' | 'number' | 'flag' | 'moment'

/** Raised when a column goes, or comes to mean something else. */
export const TABLE_EDITION = 1

export interface Table {
  /** Which type of answer or matter has it. */
  of: string
  /** The connection it pages through. */
  connection: string
  /** What is asked of each edge. */
  edge: string
  columns: readonly (readonly [name: string, form: ColumnForm, cell: (edge: Edge) => Cell])[]
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
      ['pack', 'text', ({ node }) => node.id],
      ['marks', 'text', ({ node }) => node.marks.join(' ')],
      ['standing', 'text', ({ standing }) => standing],
      ['place', 'text', ({ place }) => place],
      ['spot', 'text', ({ spot }) => spot],
      ['chance', 'number', ({ chance }) => chance.value],
      ['chance_low', 'number', ({ chance }) => low(chance)],
      ['chance_high', 'number', ({ chance }) => high(chance)],
      ['expected_castings', 'number', ({ expected }) => expected.value],
      ['expected_castings_low', 'number', ({ expected }) => low(expected)],
      ['expected_castings_high', 'number', ({ expected }) => high(expected)],
    ],
  },
  pours: {
    of: 'Reach',
    connection: 'pours',
    edge: `node { id } share ${ESTIMATE} standing`,
    columns: [
      ['pour', 'text', ({ node }) => node.id],
      ['standing', 'text', ({ standing }) => standing],
      ['share', 'number', ({ share }) => share.value],
      ['share_low', 'number', ({ share }) => low(share)],
      ['share_high', 'number', ({ share }) => high(share)],
    ],
  },
  customers: {
    of: 'Reach',
    connection: 'customers',
    edge: `node { name } packs castings { certain possible unknown toHold }`,
    columns: [
      ['customer', 'text', ({ node }) => node.name],
      ['packs', 'number', ({ packs }) => packs],
      ['castings_certain', 'number', ({ castings }) => castings.certain],
      ['castings_possible', 'number', ({ castings }) => castings.possible],
      ['castings_not_known', 'number', ({ castings }) => castings.unknown],
      ['castings_to_hold', 'number', ({ castings }) => castings.toHold],
    ],
  },
  rates: {
    of: 'Rates',
    connection: 'rows',
    edge: `node { group counted { castings defective rate ${ESTIMATE} } adjusted ${ESTIMATE}
      steadied ${ESTIMATE} times ${ESTIMATE} chanceAlone toldApart stretch { from to } }`,
    columns: [
      ['group', 'text', ({ node }) => node.group.join(', ')],
      ['castings', 'number', ({ node }) => node.counted.castings],
      ['defective', 'number', ({ node }) => node.counted.defective],
      ['rate', 'number', ({ node }) => node.counted.rate.value],
      ['rate_low', 'number', ({ node }) => low(node.counted.rate)],
      ['rate_high', 'number', ({ node }) => high(node.counted.rate)],
      ['adjusted', 'number', ({ node }) => node.adjusted.value],
      ['steadied', 'number', ({ node }) => node.steadied.value],
      ['times', 'number', ({ node }) => node.times?.value ?? null],
      ['times_low', 'number', ({ node }) => low(node.times)],
      ['times_high', 'number', ({ node }) => high(node.times)],
      ['chance_alone', 'number', ({ node }) => node.chanceAlone],
      ['told_apart', 'flag', ({ node }) => node.toldApart],
      ['first_made', 'moment', ({ node }) => node.stretch?.from ?? null],
      ['last_made', 'moment', ({ node }) => node.stretch?.to ?? null],
    ],
  },
  covers: {
    of: 'Recall',
    connection: 'covers',
    edge: 'node { id } castings released',
    columns: [
      ['thing', 'text', ({ node }) => node.id],
      ['castings', 'number', ({ castings }) => castings],
    ],
  },
  calls: {
    of: 'Recall',
    connection: 'calls',
    edge: 'node { customer marks castings givenTo toldAt answered }',
    columns: [
      ['customer', 'text', ({ node }) => node.customer],
      ['marks', 'text', ({ node }) => node.marks.join(' ')],
      ['castings', 'number', ({ node }) => node.castings],
      ['given_to', 'text', ({ node }) => node.givenTo],
      ['told_at', 'moment', ({ node }) => node.toldAt],
      ['castings_answered', 'number', ({ node }) => node.answered],
    ],
  },
}
