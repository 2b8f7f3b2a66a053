// What was set aside and may touch an answer. What was replayed since counts as read from then on: the
// statement it became says where it stood. Only one of the same topic can say so: who may write there
// could have left the report out as well.
import type { Ms } from '../events/fact.ts'
import type { Database } from './connect.ts'
import type { Place } from './kept-record.ts'

/** Reports of a plant, or of no plant that can be told, set aside from one recorded moment to another. */
export async function countSetAsideSince(
  database: Database,
  plant: string,
  from: Ms,
  until: Ms,
): Promise<number> {
  const { rows } = await database.query<{ count: string }>(
    `select count(*) from set_aside a
     where (plant = $1 or plant is null) and recorded between $2 and $3 and ${openUntil('$3')}`,
    [plant, Math.floor(from), Math.ceil(until)],
  )
  return Number(rows[0]!.count)
}

/** Places of reports set aside whose bytes hold one of these words, newest first. */
export async function readSetAsideNaming(
  database: Database,
  plant: string,
  words: readonly string[],
  until: Ms,
): Promise<Place[]> {
  if (words.length === 0) return []
  const { rows } = await database.query<{ topic: string; partition: number; offset: string }>(
    `select topic, partition, "offset" from set_aside a
     where (plant = $1 or plant is null) and recorded <= $2 and ${openUntil('$2')}
       and exists (select from unnest($3::text[]) as word
         where position(convert_to(word, 'UTF8') in bytes) > 0)
     order by recorded desc limit 50`,
    [plant, Math.ceil(until), words],
  )
  return rows.map((row) => ({ ...row, offset: BigInt(row.offset) }))
}

/** How many reports are set aside and were not replayed, by class. */
export async function countSetAsideByClass(database: Database): Promise<Map<string, number>> {
  const { rows } = await database.query<{ class: string; count: string }>(
    `select class, count(*) from set_aside a where ${openUntil()} group by class order by class`,
  )
  return new Map(rows.map((row) => [row.class, Number(row.count)]))
}

export interface AsideRead extends Place {
  recorded: Ms
  bytes: Buffer
}

/** What was set aside up to a recorded moment and not replayed by then, newest first, with its bytes. */
export async function readAsideUntil(
  database: Database,
  plant: string,
  until: Ms,
  most: number,
): Promise<AsideRead[]> {
  const { rows } = await database.query<AsideRead & { offset: string; recorded: string }>(
    `select topic, partition, "offset", recorded, bytes from set_aside a
     where (plant = $1 or plant is null) and recorded <= $2 and ${openUntil('$2')}
     order by recorded desc limit $3`,
    [plant, Math.ceil(until), most],
  )
  return rows.map((row) => ({
    ...row,
    offset: BigInt(row.offset),
    recorded: Number(row.recorded),
    bytes: Buffer.from(row.bytes),
  }))
}

export interface AsideOpen extends Place {
  reason: string
  /** When it was taken in. Unit: ms. */
  recorded: Ms
  /** As it came, its beginning. */
  bytes: Uint8Array
}

/** What was set aside in a plant, or in none that can be told, and not replayed, newest first. */
export async function readAsideOpen(
  database: Database,
  plant: string,
  most: number,
): Promise<AsideOpen[]> {
  const { rows } = await database.query<AsideOpen & { offset: string; recorded: string }>(
    `select topic, partition, "offset", reason, recorded, substring(bytes from 1 for ${ASIDE_READ}) as bytes
     from set_aside a where (plant = $1 or plant is null) and ${openUntil()}
     order by recorded desc, topic desc, partition desc, "offset" desc limit $2`,
    [plant, most],
  )
  return rows.map((row) => ({
    ...row,
    offset: BigInt(row.offset),
    recorded: Number(row.recorded),
  }))
}

/** As much as an event may have. Unit: bytes. */
const ASIDE_READ = 65_536

export interface AsideLine extends Place {
  class: string
  reason: string
  source: string | null
  type: string | null
  /** When it was taken in. Unit: ms. */
  recorded: Ms
  /** Who replayed it, if anyone has. */
  replayedBy: string | null
}

/** What was set aside, newest first; narrowed by class, topic and whether it was replayed. */
export async function readAsideLines(
  database: Database,
  narrow: { class?: string; topic?: string; open: boolean; most: number },
): Promise<AsideLine[]> {
  const { rows } = await database.query<AsideLine & { offset: string; recorded: string }>(
    `select topic, partition, "offset", class, reason, source, type, recorded,
       (select s.carried ->> 'replayedby' from statement s where ${REPLAYS} limit 1) as "replayedBy"
     from set_aside a
     where ($1::text is null or class = $1) and ($2::text is null or topic = $2)
       and (not $3::boolean or ${openUntil()})
     order by recorded desc, topic, partition, "offset" desc limit $4`,
    [narrow.class, narrow.topic, narrow.open, narrow.most],
  )
  return rows.map((row) => ({
    ...row,
    offset: BigInt(row.offset),
    recorded: Number(row.recorded),
  }))
}

/** Who replayed what was set aside at a place, and when; undefined when nobody has. */
export async function readReplay(
  database: Database,
  place: Place,
): Promise<{ by: string; recorded: Ms } | undefined> {
  const { topic, partition, offset } = place
  const { rows } = await database.query<{ by: string; recorded: string }>(
    `select s.carried ->> 'replayedby' as by, s.recorded
     from set_aside a join statement s on ${REPLAYS}
     where a.topic = $1 and a.partition = $2 and a."offset" = $3`,
    [topic, partition, offset],
  )
  return rows[0] && { by: rows[0].by, recorded: Number(rows[0].recorded) }
}

/** `s` is what `a` has become. The first condition is that of the index. */
const REPLAYS = `s.carried ->> 'replayof' is not null
  and s.carried ->> 'replayof' = a.topic || '/' || a.partition || '/' || a."offset"
  and s.topic = a.topic`

/** That `a` was not replayed up to a recorded moment, or at all. */
function openUntil(moment?: string): string {
  const until = moment === undefined ? '' : ` and s.recorded <= ${moment}`
  return `not exists (select from statement s where ${REPLAYS}${until})`
}
