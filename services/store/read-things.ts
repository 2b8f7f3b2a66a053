// Things by what is said of them: where a thing is spoken of, what went into what, and lists of one
// kind by time, a page at a time. Whether what is found is in force is settled by read-in-force.ts.
import type { Fact, Ms } from '../events/fact.ts'
import type { Database } from './connect.ts'
import type { Place } from './kept-record.ts'
import { inForceAmong, placeArrays, placeText, readShared } from './read-in-force.ts'

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

/** A fact in force, with where it was said. */
export interface HeldFact {
  fact: Fact<number>
  n: number
  place: Place
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

/** Which things to list: those of a plant with a fact of one of these sorts that fits. */
export interface Listed {
  plant: string
  sorts: readonly ListedSort[]
  /** The facts' `via`. */
  via?: number | undefined
  /** Each a word that one of some members of the facts' detail must be. */
  words?: readonly { in: readonly string[]; is: string }[]
  /** The recipe that the statement names. */
  recipe?: string | undefined
  /** Included. Unit: ms. */
  from?: Ms | undefined
  /** Not included. Unit: ms. */
  to?: Ms | undefined
}

/** Sorts of facts that lists are made of; the index fact_list_idx holds just these. */
export type ListedSort = (typeof LISTED_SORTS)[number]
export const LISTED_SORTS = [
  'lot-received',
  'returns-collected',
  'charge-line',
  'heat-begun',
  'ladle-tapped',
  'sand-mulled',
  'molds-made',
  'poured',
  'load-handled',
  'pack-line',
  'repacked',
  'pan-packed',
  'shipped',
  'inspected',
] as const satisfies readonly Fact['what'][]

/** Where a thing stands in a list: by the newest fact in force that puts it there. */
export interface ListedThing {
  at: Ms
  no: number
}

/** Things that fit, newest first, each once. */
export async function readList(
  database: Database,
  listed: Listed,
  page: { most: number; after?: ListedThing | undefined; asOf: Ms },
): Promise<ListedThing[]> {
  return fill(page.most, page.after, async (after, most) => {
    const found = await readCandidates(database, listed, after, most)
    const newest = await readNewest(database, listed, found, page.asOf)
    return {
      kept: found.filter(({ at, no }) => newest.get(no) === at),
      next: found.length === most ? found.at(-1) : undefined,
    }
  })
}

/** How many things fit. */
export async function countList(database: Database, listed: Listed, asOf: Ms): Promise<number> {
  return countFacts(database, listed, asOf, 'distinct of_no')
}

/** Facts in force that fit. Few statements share anything with others: only those are judged singly. */
async function countFacts(
  database: Database,
  listed: Listed,
  asOf: Ms,
  what: string,
): Promise<number> {
  const { text, values } = fits(listed)
  const sorts = listed.sorts.map((sort) => `'${sort}'`)
  const condition = `what in (${sorts}) ${text}`
  const shared = await readShared(database, condition, values, asOf)
  const holding = await inForceAmong(database, shared, asOf)
  const lost = shared.filter((place) => !holding.has(placeText(place)))
  const next = (i: number) => `$${values.length + i}`
  const { rows } = await database.query<{ count: string }>(
    `select count(${what}) from fact
     where ${condition}
       and exists (select from statement s
         where (s.topic, s.partition, s."offset") = (fact.topic, fact.partition, fact."offset")
           and s.recorded <= ${next(1)})
       and (topic, partition, "offset") not in (
         select * from unnest(${next(2)}::text[], ${next(3)}::int[], ${next(4)}::bigint[]))`,
    [...values, asOf, ...placeArrays(lost)],
  )
  return Number(rows[0]!.count)
}

/** Where a statement stands in a list. */
export interface ListedPlace {
  at: Ms
  place: Place
}

/** Inspections that fit, newest first. */
export async function readInspections(
  database: Database,
  listed: Listed,
  page: { most: number; after?: ListedPlace | undefined; asOf: Ms },
): Promise<ListedPlace[]> {
  const { text, values } = fits(listed)
  const next = (i: number) => `$${values.length + i}`
  return fill(page.most, page.after, async (after, most) => {
    const { rows } = await database.query(
      `select distinct at, topic, partition, "offset" from fact where what = 'inspected' ${text}
       and (${next(1)}::bigint is null or (at, topic, partition, "offset")
         < (${next(1)}, ${next(2)}::text, ${next(3)}::int, ${next(4)}::bigint))
       order by at desc, topic desc, partition desc, "offset" desc limit ${next(5)}`,
      [...values, after?.at, after?.place.topic, after?.place.partition, after?.place.offset, most],
    )
    const found = rows.map((row) => ({ at: Number(row.at), place: readPlace(row) }))
    const holding = await inForceAmong(
      database,
      found.map(({ place }) => place),
      page.asOf,
    )
    return {
      kept: found.filter(({ place }) => holding.has(placeText(place))),
      next: found.length === most ? found.at(-1) : undefined,
    }
  })
}

/** How many inspections fit. */
export async function countInspections(
  database: Database,
  listed: Listed,
  asOf: Ms,
): Promise<number> {
  return countFacts(database, listed, asOf, `distinct (topic, partition, "offset")`)
}

async function readCandidates(
  database: Database,
  listed: Listed,
  after: ListedThing | undefined,
  most: number,
): Promise<ListedThing[]> {
  const { text, values } = fits(listed)
  const place = `$${values.length + 1}::bigint, $${values.length + 2}::int`
  // One sort at a time: only so does the index give the rows in order.
  const bySort = listed.sorts.map(
    (sort) => `(select distinct at, of_no from fact where what = '${sort}' ${text}
      ${after ? `and (at, of_no) < (${place})` : ''}
      order by at desc, of_no desc limit ${most})`,
  )
  const { rows } = await database.query(
    `select at, of_no from (${bySort.join(' union ')}) as listed
     order by at desc, of_no desc limit ${most}`,
    after ? [...values, after.at, after.no] : values,
  )
  return rows.map((row) => ({ at: Number(row.at), no: row.of_no }))
}

/** When each thing was last said to fit, by what is in force. */
async function readNewest(
  database: Database,
  listed: Listed,
  candidates: readonly ListedThing[],
  asOf: Ms,
): Promise<Map<number, Ms>> {
  const { text, values } = fits(listed)
  const { rows } = await database.query(
    `select topic, partition, "offset", of_no, at from fact
     where of_no = any($${values.length + 1}::int[])
       and what = any($${values.length + 2}::text[]) ${text}`,
    [...values, `{${candidates.map(({ no }) => no)}}`, `{${listed.sorts}}`],
  )
  const places = rows.map(readPlace)
  const holding = await inForceAmong(database, places, asOf)
  const newest = new Map<number, Ms>()
  rows.forEach((row, i) => {
    if (!holding.has(placeText(places[i]!))) return
    const at = Number(row.at)
    if (!(newest.get(row.of_no)! >= at)) newest.set(row.of_no, at)
  })
  return newest
}

/** What a fact must be to fit, as conditions and their values. */
function fits({ plant, via, words = [], recipe, from, to }: Listed) {
  const values: unknown[] = [plant]
  const add = (value: unknown) => `$${values.push(value)}`
  let text = `and exists (select from thing where no = of_no and plant = $1)`
  if (from !== undefined) text += ` and at >= ${add(from)}::bigint`
  if (to !== undefined) text += ` and at < ${add(to)}::bigint`
  if (via !== undefined) text += ` and via_no = ${add(via)}::int`
  for (const word of words) {
    const is = add(word.is)
    const members = word.in.map((member) => `detail ->> ${add(member)}::text = ${is}::text`)
    text += ` and (${members.join(' or ')})`
  }
  if (recipe !== undefined)
    text += ` and exists (select from statement s
      where (s.topic, s.partition, s."offset") = (fact.topic, fact.partition, fact."offset")
        and coalesce(s.entered -> 'data', s.entered) -> 'recipe' ->> 'id' = ${add(recipe)}::text)`
  return { text, values }
}

/** Reads on until a page is full or nothing is left. */
async function fill<Row, Cursor>(
  most: number,
  after: Cursor | undefined,
  read: (
    after: Cursor | undefined,
    most: number,
  ) => Promise<{ kept: Row[]; next: Cursor | undefined }>,
): Promise<Row[]> {
  const page: Row[] = []
  let from = after
  while (true) {
    const { kept, next } = await read(from, Math.max(most - page.length, 20))
    page.push(...kept)
    if (page.length >= most || next === undefined) return page.slice(0, most)
    from = next
  }
}

async function keepHeld(database: Database, facts: HeldFact[], asOf: Ms): Promise<HeldFact[]> {
  const holding = await inForceAmong(
    database,
    facts.map(({ place }) => place),
    asOf,
  )
  return facts.filter(({ place }) => holding.has(placeText(place)))
}

const FACT = 'topic, partition, "offset", n, what, of_no, other_no, via_no, amount, at, detail'

// biome-ignore lint/suspicious/noExplicitAny: a row as the driver gives it
function heldFact(row: any): HeldFact {
  const { n, what, of_no, other_no, via_no, amount, at, detail } = row
  const fact: Record<string, unknown> = { what, of: of_no, at: Number(at), ...detail }
  if (other_no !== null) fact.other = other_no
  if (via_no !== null) fact.via = via_no
  if (amount !== null) fact.amount = amount
  return { fact: fact as unknown as Fact<number>, n, place: readPlace(row) }
}

function readPlace(row: { topic: string; partition: number; offset: string }): Place {
  return { topic: row.topic, partition: row.partition, offset: BigInt(row.offset) }
}
