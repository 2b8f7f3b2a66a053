// Suites that run on both databases: PGlite in memory, and a PostgreSQL server where one answers.
// REQUIRE_POSTGRES=1 makes a missing server a failure; POSTGRES_URL names another one.
import { randomUUID } from 'node:crypto'
import { afterAll, beforeAll, beforeEach, describe, it } from 'vitest'
import { connect, type DatabasePlace, type Store } from '../../services/store/connect.ts'
import { migrate } from '../../services/store/migrate.ts'
import { memoryStore } from './in-memory.ts'

const SERVER = process.env.POSTGRES_URL ?? 'postgres://postgres@127.0.0.1:5432/postgres'

/** The database of a suite: opened before it, empty before each test. */
export interface TestDatabase {
  store: Store
  place: DatabasePlace
  /** Another pool on the same database; on the embedded one the same. */
  another(): Promise<Store>
}

/** Declares a suite once for each database. `tables` says whether each test finds the tables made. */
export function onEachDatabase(
  title: string,
  suite: (database: TestDatabase) => void,
  { tables = true } = {},
): void {
  describe(`${title}, on PGlite`, () => {
    const database = {} as TestDatabase
    beforeAll(async () => {
      database.place = { memory: true }
      database.store = await memoryStore()
      database.another = async () => ({ ...database.store, close: async () => undefined })
    })
    afterAll(() => database.store?.close())
    beforeEach(() => reset(database.store, tables))
    suite(database)
  })

  const missing = unreachable
  if (missing && process.env.REQUIRE_POSTGRES === '1') {
    it(`${title}, on PostgreSQL`, () => {
      throw new Error(`REQUIRE_POSTGRES is set and no server answers: ${missing}`)
    })
    return
  }
  describe.skipIf(missing !== undefined)(`${title}, on PostgreSQL`, () => {
    const name = `heat_to_pan_test_${randomUUID().replaceAll('-', '')}`
    const database = {} as TestDatabase
    beforeAll(async () => {
      await onServer(`create database ${name}`)
      const url = new URL(SERVER)
      url.pathname = name
      database.place = { url: url.href }
      database.store = await connect(database.place)
      database.another = () => connect(database.place)
    })
    afterAll(async () => {
      await database.store?.close()
      await onServer(`drop database if exists ${name} with (force)`)
    })
    beforeEach(() => reset(database.store, tables))
    suite(database)
  })
}

async function reset(store: Store, tables: boolean): Promise<void> {
  if (!tables)
    return void (await store.pool.query('drop schema public cascade; create schema public'))
  await migrate(store)
  await store.pool.query(
    'truncate thing, statement, fact, set_aside, position restart identity cascade',
  )
}

async function onServer(statement: string): Promise<void> {
  const store = await connect({ url: SERVER })
  try {
    await store.pool.query(statement)
  } finally {
    await store.close()
  }
}

const unreachable = await onServer('select 1').then(
  () => undefined,
  (error: Error) => error.message || String(error),
)
if (unreachable)
  console.log(`Tests on PostgreSQL are skipped, no server answers at ${SERVER}: ${unreachable}`)
