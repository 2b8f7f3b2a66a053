// Records that other versions of the event types have made beside ours. The newest that was ever level
// with its log is kept, as the way back should this version turn out wrong; older ones are dropped once
// they have been quiet for a day. What is being made, or is in use, is neither.
import type { Database } from './connect.ts'
import { readOtherRecords } from './place.ts'

export interface OldRecords {
  kept: string[]
  dropped: string[]
}

interface Old {
  name: string
  /** When it was first level with its log; null when it never was. Unit: ms. */
  levelled: number | null
  /** Nobody has written it or followed the log into it for a day. */
  quiet: boolean
}

export async function dropOldRecords(database: Database): Promise<OldRecords> {
  const names = await readOtherRecords(database)
  const olds: Old[] = []
  for (const name of names) olds.push(await lookAt(database, name))
  const levelled = olds.filter(({ levelled }) => levelled !== null)
  const wayBack = levelled.sort((a, b) => b.levelled! - a.levelled!)[0]
  const goes = olds.filter((old) => wayBack && old !== wayBack && old.quiet)
  const dropped: string[] = []
  for (const { name } of goes) if (await drop(database, name)) dropped.push(name)
  return { kept: names.filter((name) => !dropped.includes(name)), dropped }
}

/** False when that is not ours to do, or somebody uses it after all. */
async function drop(database: Database, name: string): Promise<boolean> {
  return database.query(`drop schema ${quoted(name)} cascade`).then(
    () => true,
    () => false,
  )
}

async function lookAt(database: Database, name: string): Promise<Old> {
  const schema = quoted(name)
  try {
    const { rows } = await database.query<{ levelled: string | null; quiet: boolean }>(
      `select (select max(levelled) from ${schema}.followed_log) as levelled,
         not exists (select from ${schema}.worker where until > now() - interval '1 day')
         and not exists (select from ${schema}.position where updated > now() - interval '1 day')
           as quiet`,
    )
    const { levelled, quiet } = rows[0]!
    return { name, levelled: levelled === null ? null : Number(levelled), quiet }
  } catch {
    // Not shaped like ours, or not ours to read: a person has to say what becomes of it.
    return { name, levelled: null, quiet: false }
  }
}

function quoted(name: string): string {
  return `"${name.replaceAll('"', '""')}"`
}
