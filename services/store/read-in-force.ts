// Which of some statements are in force, now or as of a moment, without judging the whole record: what
// decides about a statement shares a key with it, borne or joined, or some time in its slot. All that
// is reachable that way is fetched and judged by the same merge as everything else. Most statements
// share nothing with any other: they are in force, and one look tells.
import type { Claim } from '../events/claim.ts'
import type { Ms } from '../events/fact.ts'
import { inForce } from '../events/merge.ts'
import { stretch } from '../events/precedence.ts'
import { textArray } from './columns.ts'
import type { Database } from './connect.ts'
import type { Place } from './kept-record.ts'

/** A claim and where its statement stands. */
export interface PlacedClaim extends Claim {
  place: string
}

/** A place as one word: topic, partition and offset. */
export function placeText({ topic, partition, offset }: Place): string {
  return `${topic}.${partition}.${offset}`
}

/** Undefined for what is no place. */
export function placeOf(text: string): Place | undefined {
  const parts = /^([a-z0-9._-]{1,200})\.(\d{1,9})\.(\d{1,18})$/.exec(text)
  if (!parts) return undefined
  return { topic: parts[1]!, partition: Number(parts[2]), offset: BigInt(parts[3]!) }
}

/**
 * Of the statements at some places, the places of those in force as of a moment. Statements that were
 * recorded later are none of them.
 */
export async function inForceAmong(
  database: Database,
  places: readonly Place[],
  asOf: Ms,
): Promise<Set<string>> {
  if (places.length === 0) return new Set()
  const { rows } = await database.query(LOOK, [...placeArrays(places), asOf])
  const holding = new Set<string>()
  const shared: Place[] = []
  for (const { alone, ...place } of rows) {
    if (alone) holding.add(placeText(place))
    else shared.push(place)
  }
  for (const place of await judgeShared(database, shared, asOf)) holding.add(place)
  return holding
}

async function judgeShared(
  database: Database,
  places: readonly Place[],
  asOf: Ms,
): Promise<string[]> {
  const known = new Map<string, PlacedClaim>()
  const asked = { keys: new Set<string>(), slots: new Set<string>() }
  let fresh =
    places.length === 0 ? [] : await readClaims(database, AT_PLACES, [...placeArrays(places), asOf])
  while (fresh.length > 0) {
    for (const claim of fresh) known.set(claim.place, claim)
    const near = await readNear(database, fresh, asked, asOf)
    fresh = near.filter((claim) => !known.has(claim.place))
  }
  const holding = inForce(known.values()).inForce
  const wanted = new Set(places.map(placeText))
  return [...holding].map(({ place }) => place).filter((place) => wanted.has(place))
}

/** Claims that could decide about these, of keys and slots not asked for yet. */
async function readNear(
  database: Database,
  claims: readonly PlacedClaim[],
  asked: { keys: Set<string>; slots: Set<string> },
  asOf: Ms,
): Promise<PlacedClaim[]> {
  const keys: { source: string; id: string }[] = []
  const held: PlacedClaim[] = []
  for (const claim of claims) {
    for (const key of claim.joins ? [claim, claim.joins] : [claim])
      if (isNew(asked.keys, `${key.source}\n${key.id}`)) keys.push(key)
    if (claim.slot === undefined) continue
    const { from, until } = stretch(claim)
    if (isNew(asked.slots, `${claim.slot}\n${from}\n${until}`)) held.push(claim)
  }
  if (keys.length === 0 && held.length === 0) return []
  const stretches = held.map(stretch)
  return readClaims(database, NEAR, [
    textArray(keys.map(({ source }) => source)),
    textArray(keys.map(({ id }) => id)),
    textArray(held.map(({ slot }) => slot!)),
    momentArray(stretches.map(({ from }) => from)),
    momentArray(stretches.map(({ until }) => until)),
    asOf,
  ])
}

function isNew(seen: Set<string>, word: string): boolean {
  return seen.size < seen.add(word).size
}

// Ways in which another statement o may decide about s.
const SAME_KEY = 'o.source = s.source and o.id = s.id'
const JOINED = 'o.joins_source = s.source and o.joins_id = s.id'
const SAME_SLOT = `o.slot = s.slot
  and (s.span_from is null or o.span_until is null
    or o.span_until > least(s.span_from, s.span_until - 1))
  and (s.span_until is null or o.span_from is null
    or least(o.span_from, o.span_until - 1) < s.span_until)`

const COLUMNS = `topic, partition, "offset", plant, source, id, hash, recorded, about, rank,
  joins_source, joins_id, voids, slot, span_from, span_until`

const ASKED = `unnest($1::text[], $2::int[], $3::bigint[]) as asked (topic, partition, "offset")`

const AT_PLACES = `
  select ${COLUMNS} from statement join ${ASKED} using (topic, partition, "offset")
  where recorded <= $4`

const LOOK = `
  select s.topic, s.partition, s."offset", ${isAlone('$4')} as alone
  from ${ASKED} join statement s using (topic, partition, "offset")
  where s.recorded <= $4`

/** Of a statement s: it joins none, and by the moment none shares its key or some of its time in a slot. */
function isAlone(asOf: string): string {
  const none = (shares: string) =>
    `not exists (select from statement o where ${shares} and ${another(asOf)})`
  return `s.joins_id is null and not s.voids
    and ${none(SAME_KEY)} and ${none(JOINED)} and ${none(SAME_SLOT)}`
}

function another(asOf: string): string {
  return `o.recorded <= ${asOf}
    and (o.topic, o.partition, o."offset") <> (s.topic, s.partition, s."offset")`
}

// The time a claim takes up is that of stretch() in precedence.ts; null is without end.
const NEAR = `
  with key as (select * from unnest($1::text[], $2::text[]) as key (source, id)),
    held as (select * from unnest($3::text[], $4::bigint[], $5::bigint[]) as held (slot, since, til))
  select ${COLUMNS} from statement join key using (source, id) where recorded <= $6
  union
  select ${prefixed('s', COLUMNS)} from statement s
    join key on s.joins_source = key.source and s.joins_id = key.id where recorded <= $6
  union
  select ${prefixed('s', COLUMNS)} from statement s join held on s.slot = held.slot
    where recorded <= $6
      and (held.since is null or s.span_until is null or s.span_until > held.since)
      and (held.til is null or s.span_from is null or least(s.span_from, s.span_until - 1) < held.til)`

function prefixed(table: string, columns: string): string {
  return columns.replace(/[\w"]+/g, (column) => `${table}.${column}`)
}

async function readClaims(
  database: Database,
  text: string,
  values: unknown[],
): Promise<PlacedClaim[]> {
  const { rows } = await database.query(text, values)
  return rows.map((row) => {
    const { plant, source, id, hash, about, rank, topic, partition } = row
    const claim: PlacedClaim = {
      ...{ plant, source, id, hash, about, rank },
      recorded: Number(row.recorded),
      void: row.voids,
      place: placeText({ topic, partition, offset: row.offset }),
    }
    if (row.joins_id !== null) claim.joins = { source: row.joins_source, id: row.joins_id }
    if (row.slot !== null) claim.slot = row.slot
    if (row.span_from !== null) claim.from = Number(row.span_from)
    if (row.span_until !== null) claim.until = Number(row.span_until)
    return claim
  })
}

/** Places as three arrays of PostgreSQL. */
export function placeArrays(places: readonly Place[]): string[] {
  return [
    textArray(places.map(({ topic }) => topic)),
    `{${places.map(({ partition }) => partition)}}`,
    `{${places.map(({ offset }) => offset)}}`,
  ]
}

function momentArray(moments: readonly Ms[]): string {
  return `{${moments.map((moment) => (Number.isFinite(moment) ? moment : 'null'))}}`
}
