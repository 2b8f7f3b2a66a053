import { createHash, randomUUID } from 'node:crypto'
import { readdir, readFile } from 'node:fs/promises'
import { join } from 'node:path'
import type { Database, Store } from './connect.ts'

const MIGRATIONS = join(import.meta.dirname, '../../prisma/migrations')

/** The key Prisma's own engine locks with, so that the two never migrate side by side. */
const LOCK = 72707369

/** The book as Prisma's engine writes it: either may continue what the other began. */
const BOOK = `create table if not exists _prisma_migrations (
  id varchar(36) primary key not null,
  checksum varchar(64) not null,
  finished_at timestamptz,
  migration_name varchar(255) not null,
  logs text,
  rolled_back_at timestamptz,
  started_at timestamptz not null default now(),
  applied_steps_count integer not null default 0
)`

export interface Migration {
  name: string
  script: string
}

/**
 * Brings the tables up to date and returns the names of the migrations applied now.
 * Throws when one applied earlier has been edited, removed, or had failed.
 */
export async function migrate(store: Store, folder = MIGRATIONS): Promise<string[]> {
  const migrations = await readMigrations(folder)
  // One client throughout: the lock belongs to its session.
  const client = await store.pool.connect()
  try {
    await client.query(`set lock_timeout = 0; select pg_advisory_lock(${LOCK})`)
    await makeBook(client, store.schema)
    const waiting = await findWaiting(client, migrations)
    for (const migration of waiting) await apply(client, migration)
    return waiting.map((migration) => migration.name)
  } finally {
    await client.query(`reset lock_timeout; select pg_advisory_unlock(${LOCK})`).then(
      () => client.release(),
      () => client.release(true),
    )
  }
}

/** Only what is not there yet: who finds all of it need have no right to make any. */
async function makeBook(client: Database, schema: string | undefined): Promise<void> {
  const { rows } = await client.query<{ has_schema: boolean; has_book: boolean }>(
    `select to_regnamespace($1) is not null as has_schema,
       to_regclass('_prisma_migrations') is not null as has_book`,
    [schema ?? 'public'],
  )
  const { has_schema, has_book } = rows[0]!
  if (schema !== undefined && !has_schema)
    await client.query(`create schema if not exists "${schema}"`)
  if (!has_book) await client.query(BOOK)
}

/** The migrations of a folder, in order of their names. */
export async function readMigrations(folder = MIGRATIONS): Promise<Migration[]> {
  const entries = await readdir(folder, { withFileTypes: true })
  const names = entries.filter((entry) => entry.isDirectory()).map((entry) => entry.name)
  return Promise.all(
    names.sort().map(async (name) => ({
      name,
      script: await readFile(join(folder, name, 'migration.sql'), 'utf8'),
    })),
  )
}

async function findWaiting(client: Database, migrations: Migration[]): Promise<Migration[]> {
  const book = await client.query<{ name: string; checksum: string; finished: boolean }>(
    `select migration_name as name, checksum, finished_at is not null as finished
     from _prisma_migrations where rolled_back_at is null order by started_at`,
  )
  const byName = new Map(migrations.map((migration) => [migration.name, migration]))
  for (const applied of book.rows) {
    const migration = byName.get(applied.name)
    if (!applied.finished)
      throw new Error(`Migration ${applied.name} began and never finished: restore the database.`)
    if (!migration)
      throw new Error(
        `Migration ${applied.name} was applied to this database and is missing here: run the version of the program that has it.`,
      )
    if (!checksums(migration.script).includes(applied.checksum))
      throw new Error(
        `Migration ${applied.name} was edited after it had been applied: put its file back and write a new migration.`,
      )
    byName.delete(applied.name)
  }
  return [...byName.values()]
}

/** Script and book in one simple query, so they commit together and function bodies stay whole. */
async function apply(client: Database, { name, script }: Migration): Promise<void> {
  try {
    await client.query(`begin;
${script}
;insert into _prisma_migrations
  (id, checksum, migration_name, started_at, finished_at, applied_steps_count)
values ('${randomUUID()}', '${sha256(script)}', '${name}', clock_timestamp(), clock_timestamp(), 1);
commit;`)
  } catch (error) {
    await client.query('rollback')
    throw new Error(`Migration ${name} could not be applied.`, { cause: error })
  }
}

/** A checkout may have changed the line ends: both forms count as the same file. */
function checksums(script: string): string[] {
  const lines = script.replaceAll('\r\n', '\n')
  return [sha256(lines), sha256(lines.replaceAll('\n', '\r\n'))]
}

function sha256(text: string): string {
  return createHash('sha256').update(text).digest('hex')
}
