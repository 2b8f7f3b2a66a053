// Pages of lists. A cursor names a place in the order, not a count of rows, so rows that come in
// between two pages neither repeat nor hide any other.
import { hash } from 'node:crypto'
import { momentText } from '../events/moment.ts'
import { refusal } from './refusal.ts'

const LARGEST_PAGE = 200

/** The arguments of every connection. */
export interface PageArgs {
  first: number
  after?: string | null
}

/** The GraphQL connection; `totalCount` is only worked out when asked. */
export interface Connection<Edge> {
  edges: (Edge & { cursor: string })[]
  pageInfo: {
    hasNextPage: boolean
    hasPreviousPage: boolean
    startCursor: string | null
    endCursor: string | null
  }
  totalCount: () => number | Promise<number>
}

/** Where a row stands in its list; tells it from every other row. */
export type Key = readonly (number | string)[]
export type KeyPart = 'integer' | 'number' | 'string'

/** Which list it is: a cursor of one is refused by every other. */
export interface ListName {
  list: string
  /** What was asked, beside the arguments of the page: the thing or the question. */
  of?: unknown
  /** Recorded up to here; absent, or the end of time, where the list is read as it is now. Unit: ms. */
  asOf?: number
}

/** How a list is read: by key, a page at a time. */
export interface Listing<Row, Edge> extends ListName {
  /** What a key consists of, part by part. */
  parts: readonly KeyPart[]
  /** Rows after a key, or from the start, in order; at most `most`. */
  rows(after: Key | undefined, most: number): readonly Row[] | Promise<readonly Row[]>
  key(row: Row): Key
  /** Edges of the rows shown, in their order. */
  edges(rows: readonly Row[]): readonly Edge[] | Promise<readonly Edge[]>
  count(): number | Promise<number>
}

/** One page of a list. Throws BAD_CURSOR for a cursor that this list did not give. */
export async function page<Row, Edge extends object>(
  args: PageArgs,
  listing: Listing<Row, Edge>,
): Promise<Connection<Edge>> {
  const { first } = args
  if (!(first >= 1 && first <= LARGEST_PAGE))
    throw refusal('BAD_USER_INPUT', `first must lie from 1 to ${LARGEST_PAGE}, and is ${first}.`)
  const bound = boundTo(listing, args)
  const after = args.after == null ? undefined : readCursor(bound, listing.parts, args.after)
  // One row more than shown tells whether there is a next page.
  const found = await listing.rows(after, first + 1)
  const shown = found.slice(0, first)
  const cursors = shown.map((row) => cursorAt(bound, listing.key(row)))
  const edges = await listing.edges(shown)
  return {
    edges: edges.map((edge, i) => ({ ...edge, cursor: cursors[i]! })),
    pageInfo: {
      hasNextPage: found.length > first,
      hasPreviousPage: after !== undefined,
      startCursor: cursors[0] ?? null,
      endCursor: cursors.at(-1) ?? null,
    },
    totalCount: () => listing.count(),
  }
}

/**
 * One page of a list already held, in rising or falling order of the first part of `key`: edges are
 * made for the rows shown. A list of which there is only one, as it is now, needs a name and no more.
 */
export function pageOfList<Row, Edge extends { node: unknown }>(
  rows: readonly Row[],
  args: PageArgs,
  key: (row: Row) => Key,
  edge: (row: Row) => Edge | Promise<Edge>,
  name: ListName | string,
): Promise<Connection<Edge>> {
  return page(args, {
    ...(typeof name === 'string' ? { list: name } : name),
    parts: rows[0] === undefined ? [] : key(rows[0]).map(partOf),
    rows(after, most) {
      const start = after === undefined ? 0 : placeAfter(rows.map(key), after)
      return rows.slice(start, start + most)
    },
    key,
    edges: (shown) => Promise.all(shown.map(edge)),
    count: () => rows.length,
  })
}

function placeAfter(keys: readonly Key[], after: Key): number {
  const same = keys.findIndex((key) => key.every((part, i) => part === after[i]))
  if (same >= 0) return same + 1
  // The row has gone since: go on among its equals, where one may come twice but none is hidden.
  const falling = keys.length > 0 && keys[0]![0]! > keys.at(-1)![0]!
  const next = keys.findIndex(([first]) => (falling ? first! <= after[0]! : first! >= after[0]!))
  return next < 0 ? keys.length : next
}

/** What a cursor says before its key: the list, what was asked of it, and as of when. */
type Bound = readonly [list: string, asked: string, asOf: number | null]

function boundTo({ list, of, asOf = NOW }: ListName, { first, after, ...args }: PageArgs): Bound {
  // An argument that is null was left out, and their order is that of the asker's text.
  const given = Object.entries(args)
    .filter(([, value]) => value != null)
    .sort(([a], [b]) => (a < b ? -1 : 1))
  const asked = hash('sha256', JSON.stringify([of, given]), 'base64url').slice(0, 8)
  return [list, asked, asOf >= NOW ? null : asOf]
}

/** As of the end of recorded time. */
const NOW = Number.MAX_SAFE_INTEGER

function cursorAt(bound: Bound, key: Key): string {
  return Buffer.from(JSON.stringify([...bound, ...key])).toString('base64url')
}

function readCursor(bound: Bound, parts: readonly KeyPart[], cursor: string): Key {
  let written: unknown
  try {
    written = JSON.parse(Buffer.from(cursor, 'base64url').toString())
  } catch {
    throw badCursor()
  }
  const [list, asked, asOf] = bound
  if (!Array.isArray(written) || written[0] !== list) throw badCursor()
  const key = written.slice(bound.length)
  // What does not come out the same when it is made again was not written here.
  const own = [list, written[1], written[2]] as const
  if (cursorAt(own, key) !== cursor) throw badCursor()
  if (written[2] !== asOf) throw otherMoment(written[2], asOf)
  if (written[1] !== asked) throw otherQuestion()
  if (key.length !== parts.length || !parts.every((part, i) => isPart(part, key[i])))
    throw badCursor()
  return key
}

function partOf(value: number | string): KeyPart {
  return typeof value === 'string' ? 'string' : 'number'
}

function isPart(part: KeyPart, value: unknown): boolean {
  if (part === 'integer') return Number.isSafeInteger(value)
  if (part === 'number') return typeof value === 'number'
  // No name holds a zero byte, and the database refuses one.
  return typeof value === 'string' && !value.includes('\0')
}

function badCursor() {
  return refusal(
    'BAD_CURSOR',
    'after is no cursor of this list: give the endCursor of its last page, or leave it out.',
  )
}

function otherQuestion() {
  return refusal(
    'BAD_CURSOR',
    'after belongs to another question: give the arguments that its page was asked with, or leave it out.',
  )
}

function otherMoment(written: unknown, asOf: number | null) {
  const word = (moment: unknown) => (moment === null ? 'now' : momentText(Number(moment)))
  if (!isMoment(written)) return badCursor()
  const fix = written === null ? 'leave asOf out' : `give asOf: "${word(written)}"`
  return refusal(
    'BAD_CURSOR',
    `after belongs to the answer as of ${word(written)}, and this is the one as of ${word(asOf)}: ${fix}, or leave after out.`,
  )
}

/** Or null, for now. */
function isMoment(value: unknown): boolean {
  return value === null || (Number.isSafeInteger(value) && Math.abs(Number(value)) <= 8.64e15)
}
