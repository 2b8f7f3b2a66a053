import { PROJECTION_VERSION } from '../events/projection-version.ts'
import type { Settings } from '../settings.ts'
import type { Database, DatabasePlace } from './connect.ts'

/** What the schemas of a PostgreSQL begin with that hold a record. */
const PREFIX = 'record_'

/**
 * Where the record is that this version of the event types makes. In a PostgreSQL each version has a
 * schema of its own: another is made beside it while the processes of this one go on.
 */
export function recordPlace({ databaseUrl, databaseFolder }: Settings): DatabasePlace {
  if (!databaseUrl) return { folder: databaseFolder }
  return { url: databaseUrl, schema: PREFIX + PROJECTION_VERSION.slice(0, 12) }
}

/** The schemas with records of other versions. */
export async function readOtherRecords(database: Database): Promise<string[]> {
  const { rows } = await database.query<{ name: string }>(
    `select nspname as name from pg_namespace
     where starts_with(nspname, $1) and nspname <> current_schema() order by nspname`,
    [PREFIX],
  )
  return rows.map(({ name }) => name)
}
