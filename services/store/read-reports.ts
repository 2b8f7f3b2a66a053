// Reports as people look at them, a page at a time: what was said of a thing, and what was set aside.
import type { Ms } from '../events/fact.ts'
import type { Entry, JsonObject, Statement } from '../events/statement.ts'
import { textArray } from './columns.ts'
import type { Database, Store } from './connect.ts'
import type { AsideClass, Place } from './kept-record.ts'

export interface Report {
  place: Place
  statement: Statement
  flags: string[]
}

/** Where a page goes on: behind this row in its order. */
export interface ReportCursor {
  at: Ms
  place: Place
}

/** The statements at these places; one that is not there is left out. In no order. */
export async function readReports(database: Database, places: readonly Place[]): Promise<Report[]> {
  return readAll(
    database,
    `where (topic, partition, "offset") in (
       select * from unnest($1::text[], $2::int[], $3::bigint[]))`,
    placeArrays(places),
  )
}

/** The statements that bear a key: one, or more where an id was used again. */
export async function readReportsBy(
  database: Database,
  key: { source: string; id: string },
): Promise<Report[]> {
  return readAll(database, 'where source = $1 and id = $2', [key.source, key.id])
}

/** The statements that correct or void the event of a key. */
export async function readReportsOn(
  database: Database,
  key: { source: string; id: string },
): Promise<Report[]> {
  return readAll(database, 'where joins_source = $1 and joins_id = $2', [key.source, key.id])
}

/** The statements that name a thing, in force or not, newest first. */
export async function readReportsOf(
  database: Database,
  thing: number,
  page: { most: number; after?: ReportCursor | undefined },
): Promise<Report[]> {
  const { at, place } = page.after ?? {}
  return readAll(
    database,
    `where (topic, partition, "offset") in (
       select topic, partition, "offset" from statement where subject_no = $1
       union select topic, partition, "offset" from fact where of_no = $1
       union select topic, partition, "offset" from fact where other_no = $1
       union select topic, partition, "offset" from fact where via_no = $1)
     and ($2::bigint is null or
       (at, topic, partition, "offset") < ($2, $3::text, $4::int, $5::bigint))
     order by at desc, topic desc, partition desc, "offset" desc limit $6`,
    [thing, at, place?.topic, place?.partition, place?.offset, page.most],
  )
}

/** Decisions of a plant that came in behind a place of their partition, in order. */
export async function readDecisionsFrom(
  database: Database,
  plant: string,
  from: Place,
  most: number,
): Promise<Report[]> {
  return readAll(
    database,
    `where station = 'quality' and statement.plant = $1 and topic = $2 and partition = $3 and "offset" >= $4
     order by "offset" limit $5`,
    [plant, from.topic, from.partition, from.offset, most],
  )
}

export interface SetAsideReport extends Place {
  class: AsideClass
  reason: string
  key: string
  source: string | null
  type: string | null
  recorded: Ms
}

/** What was set aside, newest first: of one plant, and what does not tell its plant. */
export async function readSetAside(
  store: Store,
  plant: string,
  page: { most: number; after?: Place | undefined; topic?: string | undefined },
): Promise<SetAsideReport[]> {
  const { after, most, topic } = page
  const rows = await store.prisma.setAside.findMany({
    where: { OR: [{ plant }, { plant: null }], ...(topic === undefined ? {} : { topic }) },
    orderBy: [{ recorded: 'desc' }, { topic: 'desc' }, { partition: 'desc' }, { offset: 'desc' }],
    omit: { bytes: true, problems: true, plant: true },
    take: most,
    ...(after ? { cursor: { topic_partition_offset: keyOf(after) }, skip: 1 } : {}),
  })
  return rows.map((row) => ({
    ...row,
    class: row.class as AsideClass,
    recorded: Number(row.recorded),
  }))
}

/** A report set aside, with its bytes as they came and what was wrong with it; null when there is none. */
export function readSetAsideAt(store: Store, place: Place) {
  return store.prisma.setAside.findUnique({ where: { topic_partition_offset: keyOf(place) } })
}

async function readAll(database: Database, where: string, values: unknown[]): Promise<Report[]> {
  const { rows } = await database.query<StatementColumns>(
    `select statement.*, thing.kind || ':' || thing.name as subject
     from statement left join thing on thing.no = subject_no ${where}`,
    values,
  )
  return rows.map(reportOf)
}

/** As the driver gives it: 64-bit integers as texts. */
interface StatementColumns {
  topic: string
  partition: number
  offset: string
  plant: string
  station: Statement['station']
  source: string
  id: string
  type: string
  subject: string | null
  time: string
  at: string
  timespread_seconds: number | null
  supersedes: string | null
  entry: Entry | null
  sequence: string | null
  recorded: string
  hash: string
  entered: JsonObject
  carried: NonNullable<Statement['carried']> | null
  flags: string[]
}

function reportOf(row: StatementColumns): Report {
  const { plant, station, source, id, type, time, hash, entered } = row
  const statement: Statement = {
    ...{ plant, station, source, id, type, time, hash, entered },
    at: Number(row.at),
    recorded: Number(row.recorded),
  }
  if (row.subject !== null) statement.subject = row.subject
  if (row.timespread_seconds !== null) statement.timespreadSeconds = row.timespread_seconds
  if (row.supersedes !== null) statement.supersedes = row.supersedes
  if (row.entry !== null) statement.entry = row.entry
  if (row.sequence !== null) statement.sequence = Number(row.sequence)
  if (row.carried !== null) statement.carried = row.carried
  const { topic, partition, offset } = row
  return { place: { topic, partition, offset: BigInt(offset) }, statement, flags: row.flags }
}

function keyOf({ topic, partition, offset }: Place): Place {
  return { topic, partition, offset }
}

function placeArrays(places: readonly Place[]): string[] {
  return [
    textArray(places.map(({ topic }) => topic)),
    `{${places.map(({ partition }) => partition).join(',')}}`,
    `{${places.map(({ offset }) => offset).join(',')}}`,
  ]
}
