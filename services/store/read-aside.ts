// What was set aside and may touch an answer.
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
    `select count(*) from set_aside
     where (plant = $1 or plant is null) and recorded between $2 and $3`,
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
    `select topic, partition, "offset" from set_aside
     where (plant = $1 or plant is null) and recorded <= $2
       and exists (select from unnest($3::text[]) as word
         where position(convert_to(word, 'UTF8') in bytes) > 0)
     order by recorded desc limit 50`,
    [plant, Math.ceil(until), words],
  )
  return rows.map((row) => ({ ...row, offset: BigInt(row.offset) }))
}

/** How many reports are set aside, by class. */
export async function countSetAsideByClass(database: Database): Promise<Map<string, number>> {
  const { rows } = await database.query<{ class: string; count: string }>(
    'select class, count(*) from set_aside group by class order by class',
  )
  return new Map(rows.map((row) => [row.class, Number(row.count)]))
}
