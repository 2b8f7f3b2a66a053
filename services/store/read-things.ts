// What is said of things: where each is spoken of, and what went into what. Whether what is found is in
// force is settled by read-in-force.ts.
import type { Fact, Ms } from '../events/fact.ts'
import type { Database } from './connect.ts'
import { FACT, fill, type HeldFact, heldFact, keepHeld, readPlace } from './held-fact.ts'
import type { Place } from './kept-record.ts'

/** A thing, and a statement that speaks of it. */
export interface Named {
  no: number
  place: Place
}

/** The statements about things: those with one as their subject, and those with a fact about one. */
export async function readPlacesAbout(
  database: Database,
  things: readonly number[],
): Promise<Named[]> {
  const { rows } = await database.query(
    `select subject_no as no, topic, partition, "offset" from statement
       where subject_no = any($1::int[])
     union
     select of_no, topic, partition, "offset" from fact where of_no = any($1::int[])`,
    [`{${things.join(',')}}`],
  )
  return rows.map(({ no, ...place }) => ({ no, place: readPlace(place) }))
}

/** Facts in force of some sorts that name things as what went in, by time. */
export async function readInto(
  database: Database,
  things: readonly number[],
  sorts: readonly Fact['what'][],
  asOf: Ms,
): Promise<HeldFact[]> {
  const { rows } = await database.query(
    `select ${FACT} from fact
     where other_no = any($1::int[]) and what = any($2::text[])
     order by at, topic, partition, "offset", n`,
    [`{${things.join(',')}}`, `{${sorts.join(',')}}`],
  )
  return keepHeld(database, rows.map(heldFact), asOf)
}

/** Where a page of facts goes on: behind this one. */
export interface FactCursor {
  at: Ms
  place: Place
  n: number
}

/** Facts by which mass leaves a lot or bin, or by which it touches. */
const USES = `what in ('charge-line', 'heat-added', 'ladle-added', 'pour-added', 'bin-filled', 'touched',
  'returned-from')`

/** Facts in force by which a lot or bin went into something or touched it, newest first. */
export async function readUses(
  database: Database,
  thing: number,
  page: { most: number; after?: FactCursor | undefined; asOf: Ms },
): Promise<HeldFact[]> {
  return fill(page.most, page.after, async (after, most) => {
    const { rows } = await database.query(
      `select ${FACT} from fact
       where other_no = $1 and ${USES} and ($2::bigint is null or
         (at, topic, partition, "offset", n) < ($2, $3::text, $4::int, $5::bigint, $6::int))
       order by at desc, topic desc, partition desc, "offset" desc, n desc limit $7`,
      [
        thing,
        after?.at,
        after?.place.topic,
        after?.place.partition,
        after?.place.offset,
        after?.n,
        most,
      ],
    )
    const found = rows.map(heldFact)
    const last = found.at(-1)
    return {
      kept: await keepHeld(database, found, page.asOf),
      next:
        found.length === most && last
          ? { at: last.fact.at, place: last.place, n: last.n }
          : undefined,
    }
  })
}

/** How many there are. */
export async function countUses(database: Database, thing: number, asOf: Ms): Promise<number> {
  const { rows } = await database.query(
    `select ${FACT} from fact where other_no = $1 and ${USES}`,
    [thing],
  )
  return (await keepHeld(database, rows.map(heldFact), asOf)).length
}

/** Facts in force of one sort about things, by time. */
export async function readOf(
  database: Database,
  things: readonly number[],
  sort: Fact['what'],
  asOf: Ms,
): Promise<HeldFact[]> {
  const { rows } = await database.query(
    `select ${FACT} from fact where of_no = any($1::int[]) and what = $2
     order by at, topic, partition, "offset", n`,
    [`{${things.join(',')}}`, sort],
  )
  return keepHeld(database, rows.map(heldFact), asOf)
}

/** The first fact in force that names a vessel in any way. */
export async function readFirst(
  database: Database,
  vessel: number,
  asOf: Ms,
): Promise<HeldFact | undefined> {
  const { rows } = await database.query(
    `select ${FACT} from fact where of_no = $1 or other_no = $1 or via_no = $1
     order by at, topic, partition, "offset", n limit 50`,
    [vessel],
  )
  return (await keepHeld(database, rows.map(heldFact), asOf))[0]
}

/** Runs of molds in force made on a line in a stretch of time, of which some bear these numbers. */
export async function readRuns(
  database: Database,
  line: number,
  asked: { first: number; last: number; from: Ms; to: Ms },
  asOf: Ms,
): Promise<HeldFact[]> {
  const { rows } = await database.query(
    `select ${FACT} from fact
     where what = 'molds-made' and via_no = $1 and at between $2 and $3
       and (detail ->> 'first')::int <= $4 and (detail ->> 'last')::int >= $5`,
    [line, asked.from, asked.to, asked.last, asked.first],
  )
  return keepHeld(database, rows.map(heldFact), asOf)
}

/** When the heats of a furnace around one began: so many before it and after it. */
export async function readHeatsAround(
  database: Database,
  furnace: number,
  at: Ms,
  around: { before: number; after: number },
): Promise<{ from: Ms; to: Ms | undefined }> {
  const { rows } = await database.query(
    `select
       (select min(at) from (select at from fact
          where what = 'heat-begun' and via_no = $1 and at <= $2
          order by at desc limit $3) as before) as begun,
       (select at from fact
          where what = 'heat-begun' and via_no = $1 and at > $2
          order by at offset $4 limit 1) as ended`,
    [furnace, at, around.before + 1, around.after],
  )
  const [{ begun, ended }] = rows as [{ begun: string; ended: string | null }]
  return { from: Number(begun), to: ended === null ? undefined : Number(ended) }
}

/** Pans in force that were packed into a pack, by their numbers here; behind `after`. */
export async function readPans(
  database: Database,
  pack: number,
  page: { most: number; after?: number | undefined; asOf: Ms },
): Promise<number[]> {
  const found = await fill(page.most, page.after, async (after, most) => {
    const { rows } = await database.query(
      `select ${FACT} from fact
       where via_no = $1 and what = 'pan-packed' and of_no > $2 order by of_no limit $3`,
      [pack, after ?? 0, most],
    )
    const all = rows.map(heldFact)
    return {
      kept: await keepHeld(database, all, page.asOf),
      next: all.length === most ? all.at(-1)!.fact.of : undefined,
    }
  })
  return [...new Set(found.map(({ fact }) => fact.of))]
}

/** How many there are. */
export async function countPans(database: Database, pack: number, asOf: Ms): Promise<number> {
  return (await readPans(database, pack, { most: 1_000_000, asOf })).length
}
