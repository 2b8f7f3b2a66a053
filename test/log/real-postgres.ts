// A PostgreSQL server for tests in which several processes meet: POSTGRES_URL, the one on this machine,
// or a container. REQUIRE_POSTGRES=1 makes a missing one a failure.
import { randomUUID } from 'node:crypto'
import { connect, type Store } from '../../services/store/connect.ts'
import { migrate } from '../../services/store/migrate.ts'

const LOCAL = 'postgres://postgres@127.0.0.1:5432/postgres'

/** A new database with its tables. */
export interface TestPostgres {
  url: string
  store: Store
  drop(): Promise<void>
}

/** A new database, or the test is skipped with the reason. */
export async function onPostgres(skip: (reason: string) => never): Promise<TestPostgres> {
  const make = await newPostgres
  return typeof make === 'string' ? skip(make) : make()
}

/** The maker of new databases; or why there is no server. */
export const newPostgres: Promise<(() => Promise<TestPostgres>) | string> = (async () => {
  const server = process.env.POSTGRES_URL ?? LOCAL
  const silent = await onServer(server, 'select 1').then(
    () => undefined,
    (error: Error) => `No PostgreSQL answers at ${server}: ${error.message || error}.`,
  )
  if (!silent) return () => newDatabase(server)
  try {
    const { PostgreSqlContainer } = await import('@testcontainers/postgresql')
    const container = await new PostgreSqlContainer('postgres:17-alpine').start()
    return () => newDatabase(container.getConnectionUri())
  } catch (error) {
    if (process.env.REQUIRE_POSTGRES === '1') throw new Error(silent)
    return `${silent} No container engine: ${(error as Error).message}.`
  }
})()

async function newDatabase(server: string): Promise<TestPostgres> {
  const name = `heat_to_pan_test_${randomUUID().replaceAll('-', '')}`
  await onServer(server, `create database ${name}`)
  const url = new URL(server)
  url.pathname = name
  const store = await connect({ url: url.href })
  await migrate(store)
  return {
    url: url.href,
    store,
    async drop() {
      await store.close()
      await onServer(server, `drop database if exists ${name} with (force)`)
    },
  }
}

async function onServer(url: string, statement: string): Promise<void> {
  const store = await connect({ url })
  try {
    await store.pool.query(statement)
  } finally {
    await store.close()
  }
}
