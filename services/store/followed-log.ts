// Which log the positions count in, and what stands in the database of one place of it.
import type { Ms } from '../events/fact.ts'
import { type Database, type Store, transaction } from './connect.ts'
import type { Place } from './kept-record.ts'

/** What was kept of one record: what tells its statement, or its bytes when it was set aside. */
export type Kept = { source: string; id: string; hash: string } | { bytes: Uint8Array }

/** Undefined when no record of that place was taken in. */
export async function readKept(
  database: Database,
  { topic, partition, offset }: Place,
): Promise<Kept | undefined> {
  const at = `topic = $1 and partition = $2 and "offset" = $3`
  const values = [topic, partition, offset]
  const said = await database.query<{ source: string; id: string; hash: string }>(
    `select source, id, hash from statement where ${at}`,
    values,
  )
  if (said.rows[0]) return said.rows[0]
  const aside = await database.query<{ bytes: Uint8Array }>(
    `select bytes from set_aside where ${at}`,
    values,
  )
  return aside.rows[0]
}

/** Writes down which log is followed; answers the one written down before, if there was one. */
export async function noteFollowedLog(store: Store, id: string): Promise<string | undefined> {
  return transaction(store, async (client) => {
    await client.query('lock table followed_log')
    const { rows } = await client.query<{ id: string }>('select id from followed_log')
    if (!rows[0]) await client.query('insert into followed_log values ($1)', [id])
    return rows[0]?.id
  })
}

/** Writes down that everything the followed log held has been read; true for the first time. */
export async function noteLevel(database: Database, now: Ms): Promise<boolean> {
  const { rowCount } = await database.query(
    'update followed_log set levelled = $1 where levelled is null',
    [now],
  )
  return rowCount === 1
}

/** Whether everything its log held has ever been read. */
export async function hasLevelled(database: Database): Promise<boolean> {
  const { rows } = await database.query('select from followed_log where levelled is not null')
  return rows.length > 0
}
