// What follows the record reads: everything written since a vector of positions, inside one snapshot
// in which rows and positions agree. Rows come as arrays, a chunk at a time, so that millions pass
// through without being held; claimOf and factOf name what stands in them.
import type { Claim } from '../events/claim.ts'
import type { Fact, Ms, Name, Station } from '../events/fact.ts'
import { type Database, queryRows, type Store, transaction } from './connect.ts'
import { findThings, type Numbers, type PlantName } from './dictionary.ts'
import type { Stopped } from './stopped.ts'

/** How far a partition has been read, and by which version of the catalogue. */
export interface Position {
  topic: string
  partition: number
  /** Offset of the first record not read yet. */
  next: bigint
  projection: string
}

/** Runs `work` on one unchanging state of the database; it can only read. */
export function snapshot<Result>(
  store: Store,
  work: (database: Database) => Promise<Result>,
): Promise<Result> {
  return transaction(store, work, BEGIN_SNAPSHOT)
}

/**
 * Emptying a table (see empty.ts) shows in snapshots taken before it: positions would be read full
 * and their statements empty. So the tables are held before the snapshot begins.
 */
const BEGIN_SNAPSHOT = `begin isolation level repeatable read, read only;
  lock table position, statement, fact, set_aside in access share mode`

/** In order of topic and partition. */
export async function readPositions(database: Database): Promise<Position[]> {
  const { rows } = await database.query<Position & { next: string }>(
    `select topic, partition, next_offset as next, projection
     from position order by topic, partition`,
  )
  return rows.map((row) => ({ ...row, next: BigInt(row.next) }))
}

/** What tells whether there is anything new, in one look. */
export interface Glance {
  positions: Position[]
  /** When the newest report that was set aside was taken in; 0 when none ever was. Unit: ms. */
  newestAside: Ms
  stopped: Stopped[]
}

export async function readGlance(database: Database): Promise<Glance> {
  const { rows } = await database.query<GlanceRow>(
    `select topic, partition, next_offset as next, projection, stopped as why,
       (select max(recorded) from set_aside) as newest
     from position order by topic, partition`,
  )
  return {
    positions: rows.map(({ topic, partition, next, projection }) => {
      return { topic, partition, next: BigInt(next), projection }
    }),
    newestAside: Number(rows[0]?.newest ?? 0),
    stopped: rows.flatMap(({ topic, partition, why }) =>
      why === null ? [] : [{ topic, partition, why }],
    ),
  }
}

interface GlanceRow {
  topic: string
  partition: number
  next: string
  projection: string
  why: string | null
  newest: string | null
}

/** A statement as it stands in the database, without what was entered. Offsets and times as numbers. */
export type StatementRow = [
  offset: number,
  at: Ms,
  recorded: Ms,
  plant: string,
  station: Station,
  source: string,
  id: string,
  type: string,
  subjectNo: number | null,
  hash: string,
  about: string,
  rank: Claim['rank'],
  joinsSource: string | null,
  joinsId: string | null,
  voids: boolean,
  slot: string | null,
  spanFrom: Ms | null,
  spanUntil: Ms | null,
]

/** `n` counts the facts of one statement from 0. */
export type FactRow = [
  offset: number,
  n: number,
  what: Fact['what'],
  of: number,
  other: number | null,
  via: number | null,
  amount: number | null,
  at: Ms,
  detail: Record<string, unknown> | null,
]

/** Statements in order of their offsets, and all their facts in the same order. */
export interface Chunk {
  topic: string
  partition: number
  statements: StatementRow[]
  facts: FactRow[]
}

/** All that one partition says from an offset on. To be used inside a snapshot. */
export async function* readSince(
  database: Database,
  from: { topic: string; partition: number; next: bigint },
  most = 5_000,
): AsyncGenerator<Chunk> {
  const { topic, partition } = from
  let next = from.next
  while (true) {
    const values = [topic, partition, next]
    const statements = await queryRows<StatementRow>(database, STATEMENT_COLUMNS, STATEMENTS, [
      ...values,
      most,
    ])
    const last = statements.at(-1)
    if (!last) return
    const facts = await queryRows<FactRow>(database, FACT_COLUMNS, FACTS, [...values, last[0]])
    yield { topic, partition, statements, facts }
    if (statements.length < most) return
    next = BigInt(last[0]) + 1n
  }
}

const STATEMENT_COLUMNS = `"offset", at, recorded, plant, station, source, id, type, subject_no, hash,
  about, rank, joins_source, joins_id, voids, slot, span_from, span_until`

const STATEMENTS = `
  from statement
  where topic = $1 and partition = $2 and "offset" >= $3
  order by "offset" limit $4`

const FACT_COLUMNS = '"offset", n, what, of_no, other_no, via_no, amount, at, detail'

const FACTS = `
  from fact
  where topic = $1 and partition = $2 and "offset" between $3 and $4
  order by "offset", n`

/** The offsets of the statements in force, by topic/partition. */
export async function readInForce(database: Database): Promise<Map<string, Set<number>>> {
  const rows = await queryRows<[string, number[]]>(
    database,
    `topic || '/' || partition, json_agg("offset")`,
    'from in_force group by topic, partition',
    [],
  )
  return new Map(rows.map(([partition, offsets]) => [partition, new Set(offsets)]))
}

export function claimOf(row: StatementRow): Claim {
  const [, , recorded, plant, , source, id, , , hash, about, rank] = row
  const [joinsSource, joinsId, voids, slot, from, until] = row.slice(12) as Last<StatementRow>
  const claim: Claim = { plant, source, id, hash, recorded, about, rank, void: voids }
  if (joinsSource !== null && joinsId !== null) claim.joins = { source: joinsSource, id: joinsId }
  if (slot !== null) claim.slot = slot
  if (from !== null) claim.from = from
  if (until !== null) claim.until = until
  return claim
}

/** The last six of a statement row. */
type Last<Row> = Row extends [...infer _, infer A, infer B, infer C, infer D, infer E, infer F]
  ? [A, B, C, D, E, F]
  : never

export function factOf(row: FactRow): Fact<number> {
  const [, , what, of, other, via, amount, at, detail] = row
  const fact: Record<string, unknown> = { what, of, at, ...detail }
  if (other !== null) fact.other = other
  if (via !== null) fact.via = via
  if (amount !== null) fact.amount = amount
  return fact as unknown as Fact<number>
}

/** Names by number; a number the dictionary never gave is left out. */
export async function readNames(
  database: Database,
  nos: readonly number[],
): Promise<Map<number, PlantName>> {
  const rows = await queryRows<[number, string, Name]>(
    database,
    `no, plant, kind || ':' || name`,
    'from thing where no = any($1::int[])',
    [`{${nos.join(',')}}`],
  )
  return new Map(rows.map(([no, plant, name]) => [no, { plant, name }]))
}

/** The numbers of those of the names that any statement has ever used. */
export function readNumbers(database: Database, names: readonly PlantName[]): Promise<Numbers> {
  return findThings(database, names)
}
