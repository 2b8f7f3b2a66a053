import { mkdir, readdir, rm } from 'node:fs/promises'
import { join } from 'node:path'
import { PGlite } from '@electric-sql/pglite'
import { createPgConfig } from '@electric-sql/pglite/node-postgres'
import pg from 'pg'
import { findBlank, keepBlank } from './blank.ts'
import { copyMessages } from './copy.ts'
import { prismaOver } from './prisma-client.ts'

/**
 * Where the database is: a PostgreSQL by its address, and a schema of it other than the usual one; or one
 * inside this process, in a folder or in memory.
 */
export type DatabasePlace = { url: string; schema?: string } | { folder: string } | { memory: true }

export interface Store {
  pool: pg.Pool
  prisma: ReturnType<typeof prismaOver>
  /** The database lives in this process: one connection, and nobody else can reach it. */
  embedded: boolean
  /** Absent, it is the usual one. */
  schema?: string
  close(): Promise<void>
}

/** What can be asked: the pool, or one client inside a transaction. */
export type Database = Pick<pg.ClientBase, 'query'>

/**
 * Opens the database, whichever it is, behind one driver: the same SQL runs on both.
 * The embedded one knows no lock: whoever opens a folder must hold it alone (see folder-lock.ts).
 * It has a single connection: inside a transaction ask the client, never the pool, or wait for ever.
 */
export async function connect(place: DatabasePlace): Promise<Store> {
  if ('url' in place) return postgresStore(place)
  const lite = 'folder' in place ? await liteInFolder(place.folder) : await liteInMemory()
  return storeOver(litePool(lite), { embedded: true }, () => lite.close())
}

/** Runs `work` in one transaction: commits when it returns, rolls back when it throws. */
export async function transaction<Result>(
  store: Store,
  work: (client: Database) => Promise<Result>,
  begin = 'begin',
): Promise<Result> {
  const client = await store.pool.connect()
  try {
    await client.query(begin)
    const result = await work(client)
    await client.query('commit')
    client.release()
    return result
  } catch (error) {
    // A connection that cannot even roll back is thrown away; the first error is the one that tells.
    const lost = await client.query('rollback').then(
      () => false,
      () => true,
    )
    client.release(lost)
    throw error
  }
}

/**
 * Rows as arrays, 64-bit integers as numbers: offsets and times stay far below 2^53. They come as one
 * JSON text, because the driver takes rows apart field by field: four to six times the work.
 */
export async function queryRows<Row extends unknown[]>(
  database: Database,
  columns: string,
  from: string,
  values: unknown[],
): Promise<Row[]> {
  const { rows } = await database.query<{ listed: Row[] | null }>(
    `select json_agg(line) as listed from (select json_build_array(${columns}) as line ${from}) as lines`,
    values,
  )
  return rows[0]?.listed ?? []
}

function postgresStore({ url, schema }: { url: string; schema?: string }): Store {
  const pool = new pg.Pool({
    connectionString: withSettings(url, schema),
    max: 8,
    keepAlive: true,
    connectionTimeoutMillis: 10_000,
    // A frozen owner of a partition must not block its successor for ever.
    lock_timeout: 10_000,
    idle_in_transaction_session_timeout: 15_000,
  })
  return storeOver(pool, { embedded: false, ...(schema !== undefined && { schema }) })
}

/**
 * The address with settings of each connection: the schema as the only one where names are looked for, and
 * nothing compiled, which takes longer here than the queries it is meant to speed up.
 */
function withSettings(address: string, schema: string | undefined): string {
  const url = new URL(address)
  const settings = ['jit=off', ...(schema === undefined ? [] : [`search_path=${schema}`])]
  const options = [url.searchParams.get('options') ?? '', ...settings.map((each) => `-c ${each}`)]
  url.searchParams.set('options', options.join(' ').trim())
  return url.href
}

function storeOver(
  pool: pg.Pool,
  kind: Pick<Store, 'embedded' | 'schema'>,
  closeDatabase?: () => Promise<void>,
): Store {
  // An idle connection that breaks is replaced by the pool; unheard, its error would end the process.
  pool.on('error', () => undefined)
  // The same of one that is in use and breaks between two statements: the next one fails.
  pool.on('connect', (client) => client.on('error', () => undefined))
  const prisma = prismaOver(pool, kind.schema)
  return {
    pool,
    prisma,
    ...kind,
    async close() {
      await prisma.$disconnect()
      await pool.end()
      await closeDatabase?.()
    },
  }
}

async function liteInFolder(folder: string): Promise<PGlite> {
  await mkdir(folder, { recursive: true })
  try {
    const isNew = (await readdir(folder)).length === 0
    return (isNew && (await unpacked(folder))) || (await PGlite.create(folder))
  } catch (error) {
    throw new Error(
      `The database in ${folder} cannot be opened (${(error as Error).message}). It follows from the log: make it anew with "npm run rebuild".`,
      { cause: error },
    )
  }
}

async function liteInMemory(): Promise<PGlite> {
  const lite = await unpacked()
  if (lite) return lite
  const made = await PGlite.create()
  await keepBlank(await made.dumpDataDir('gzip'))
  return made
}

/** The blank that is kept, in an empty folder or in memory; undefined, and nothing left behind, where that fails. */
async function unpacked(folder?: string): Promise<PGlite | undefined> {
  const blank = await findBlank()
  if (!blank) return undefined
  try {
    return await PGlite.create({ ...(folder && { dataDir: folder }), loadDataDir: blank })
  } catch {
    if (!folder) return undefined
    for (const name of await readdir(folder)) await rm(join(folder, name), { recursive: true })
    return undefined
  }
}

function litePool(lite: PGlite): pg.Pool {
  return new pg.Pool({
    max: 1,
    idleTimeoutMillis: 0,
    Client: clientOver(lite),
    // The session outlives its client: one lost inside a transaction would hand it to the next.
    onConnect: (client) => client.query('rollback').then(() => undefined),
  })
}

/** Each client gets a connection of its own: the pool throws a client away after an error. */
function clientOver(lite: PGlite): new () => pg.Client {
  return class extends pg.Client {
    constructor() {
      const config = createPgConfig(lite)
      const { connection } = config
      const parse = connection.parse.bind(connection)
      // The driver's result parsers are called `types`; here they would be read as parameter types.
      connection.parse = (query: object) => parse({ ...query, types: undefined })
      Object.assign(connection, {
        copyIn(text: string, rows: Buffer) {
          lite.execProtocolStream(copyMessages(text, rows), { throwOnError: false }).then(
            (answers) => {
              for (const answer of answers)
                connection.emit(answer.name === 'error' ? 'errorMessage' : answer.name, answer)
            },
            (error) => connection.emit('error', error),
          )
        },
      })
      super(config as object)
    }
  }
}
