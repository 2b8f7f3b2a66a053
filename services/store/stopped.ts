// Partitions that stand still until somebody has looked: what is in the log behind their positions may
// never come, or is not the log that was read.
import type { Database } from './connect.ts'

export interface Stopped {
  topic: string
  partition: number
  /** The name of the alarm. */
  why: string
}

export async function noteStopped(
  database: Database,
  { topic, partition, projection }: { topic: string; partition: number; projection: string },
  why: string,
): Promise<void> {
  await database.query(
    `insert into position (topic, partition, next_offset, projection, stopped)
     values ($1, $2, 0, $3, $4)
     on conflict (topic, partition) do update set stopped = excluded.stopped`,
    [topic, partition, projection, why],
  )
}

/** It is being read again, whether anything comes or not. */
export async function noteReadAgain(
  database: Database,
  { topic, partition }: { topic: string; partition: number },
): Promise<void> {
  await database.query(
    'update position set stopped = null where topic = $1 and partition = $2 and stopped is not null',
    [topic, partition],
  )
}

export async function readStopped(database: Database): Promise<Stopped[]> {
  const { rows } = await database.query<Stopped>(
    `select topic, partition, stopped as why from position
     where stopped is not null order by topic, partition`,
  )
  return rows
}
