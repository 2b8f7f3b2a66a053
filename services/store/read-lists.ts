// Lists of things of one kind by time, a page at a time.
import type { Fact, Ms } from '../events/fact.ts'
import type { Database } from './connect.ts'
import { fill, readPlace } from './held-fact.ts'
import type { Place } from './kept-record.ts'
import { inForceAmong, placeText } from './read-in-force.ts'

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

/** Sorts of facts that lists are made of; the index fact_what_at_of_no_idx holds just these. */
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
