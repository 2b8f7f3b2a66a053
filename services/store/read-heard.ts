// How far the stations have been heard, and counts of reports.
import type { Ms, Station } from '../events/fact.ts'
import type { Database } from './connect.ts'

/** The newest reports of one topic. */
export interface Heard {
  topic: string
  /** When they happened, in order of time. Unit: ms. */
  moments: Ms[]
  /** The newest of them as the station wrote it. */
  time: string
  /** When the last of them was taken in. Unit: ms. */
  recorded: Ms
}

/** Of each topic the moments of its newest reports, at most `most` of each partition. */
export async function readHeard(database: Database, plant: string, most: number): Promise<Heard[]> {
  const { rows } = await database.query<{
    topic: string
    at: string
    time: string
    recorded: string
  }>(
    `select position.topic, newest.at, newest.time, newest.recorded
     from position cross join lateral (
       select at, time, recorded from statement s
       where s.topic = position.topic and s.partition = position.partition and s.plant = $1
       order by s."offset" desc limit $2) as newest
     order by newest.at`,
    [plant, most],
  )
  return [...Map.groupBy(rows, ({ topic }) => topic)].map(([topic, reports]) => ({
    topic,
    moments: reports.map(({ at }) => Number(at)),
    time: reports.at(-1)!.time,
    recorded: reports.reduce((last, { recorded }) => Math.max(last, Number(recorded)), 0),
  }))
}

/** The topic of a station, with whatever prefix this house gives its topics. */
export async function topicOf(database: Database, station: Station | string): Promise<string> {
  const { rows } = await database.query<{ topic: string }>(
    'select topic from position union select topic from set_aside',
  )
  return rows.find(({ topic }) => topic.endsWith(station))?.topic ?? station
}

/** How many statements name a thing, in force or not. */
export async function countReportsOf(database: Database, thing: number): Promise<number> {
  const { rows } = await database.query<{ count: string }>(
    `select count(*) from (
       select topic, partition, "offset" from statement where subject_no = $1
       union select topic, partition, "offset" from fact
         where of_no = $1 or other_no = $1 or via_no = $1) as named`,
    [thing],
  )
  return Number(rows[0]!.count)
}

/** How many reports of a plant were set aside, or of no plant that can be told; in one topic, or all. */
export async function countSetAsideIn(
  database: Database,
  plant: string,
  topic: string | undefined,
): Promise<number> {
  const { rows } = await database.query<{ count: string }>(
    `select count(*) from set_aside
     where (plant = $1 or plant is null) and ($2::text is null or topic = $2)`,
    [plant, topic],
  )
  return Number(rows[0]!.count)
}
