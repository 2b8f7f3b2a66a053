// Plans and checks migrations without a server and without Prisma's downloaded engine: the engine's
// own WebAssembly build compares what the migrations make, replayed into a database in memory, with
// what schema.prisma says.
//   npm run migration             says whether the two agree; exit code 1 when not
//   npm run migration -- add-spot writes the next migration, to be read before it is committed
import { mkdir, readFile, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { PrismaPg } from '@prisma/adapter-pg'
import { bindMigrationAwareSqlAdapterFactory, ColumnTypeEnum } from '@prisma/driver-adapter-utils'
import type pg from 'pg'
import { connect, type Store } from '../services/store/connect.ts'
import { readMigrations } from '../services/store/migrate.ts'

const HERE = import.meta.dirname
const MIGRATIONS = join(HERE, 'migrations')

/** Type numbers of PostgreSQL. */
const CHAR = 18
const TEXT = 25

/** The statements that lead from the migrations to schema.prisma, or to the text given; empty when they agree. */
export async function missingSteps(content?: string): Promise<string> {
  await using stores = new AsyncDisposableStack()
  const fresh = async (): Promise<Store> => {
    const store = await connect({ memory: true })
    stores.defer(() => store.close())
    return store
  }
  // Its panics reach us only through this global; without it their reason is lost.
  Object.assign(globalThis, {
    PRISMA_WASM_PANIC_REGISTRY: { set_message: (reason: string) => console.error(reason) },
  })
  const { SchemaEngine } = await import('@prisma/schema-engine-wasm')
  const path = join(HERE, 'schema.prisma')
  const schema = { path, content: content ?? (await readFile(path, 'utf8')) }
  const adapter = bindMigrationAwareSqlAdapterFactory(adapterOver(await fresh(), fresh))
  const engine = await SchemaEngine.new(
    { datamodels: [[schema.path, schema.content]] },
    () => undefined,
    adapter,
  )
  const difference = await engine.diff({
    from: { tag: 'migrations', ...(await migrationList()) },
    to: { tag: 'schemaDatamodel', files: [schema] },
    script: true,
    exitCode: true,
    filters: { externalTables: [], externalEnums: [] },
  })
  return difference.exitCode === 0 ? '' : (difference.stdout ?? '')
}

async function migrationList() {
  const migrations = await readMigrations(MIGRATIONS)
  return {
    baseDir: MIGRATIONS,
    lockfile: {
      path: 'migration_lock.toml',
      content: await readFile(join(MIGRATIONS, 'migration_lock.toml'), 'utf8'),
    },
    shadowDbInitScript: '',
    migrationDirectories: migrations.map(({ name, script }) => ({
      path: name,
      migrationFile: { path: 'migration.sql', content: { tag: 'ok' as const, value: script } },
    })),
  }
}

function adapterOver(store: Store, fresh: () => Promise<Store>): PrismaPg {
  const query = store.pool.query.bind(store.pool)
  const charColumns = new WeakMap<unknown[], number[]>()
  // The engine reads columns of PostgreSQL's internal type "char", which the adapter refuses: they go
  // through it as text and get their own type back after it.
  const pool: pg.Pool = Object.assign(store.pool, {
    async query(config: pg.QueryArrayConfig) {
      const result = await query(config)
      const isChar = (field: pg.FieldDef) => field.dataTypeID === CHAR
      charColumns.set(
        result.rows,
        result.fields.flatMap((field, column) => (isChar(field) ? [column] : [])),
      )
      for (const field of result.fields.filter(isChar)) field.dataTypeID = TEXT
      return result
    },
  })
  const factory = new PrismaPg(pool)
  const connectMain = factory.connect.bind(factory)
  factory.connect = async () => {
    const adapter = await connectMain()
    const queryRaw = adapter.queryRaw.bind(adapter)
    adapter.queryRaw = async (sql) => {
      const result = await queryRaw(sql)
      for (const column of charColumns.get(result.rows) ?? [])
        result.columnTypes[column] = ColumnTypeEnum.Character
      return result
    }
    // Its own way cuts scripts at every semicolon, also inside a function body.
    adapter.executeScript = async (script) => void (await query(script))
    return adapter
  }
  factory.connectToShadowDb = async () => adapterOver(await fresh(), fresh).connect()
  return factory
}

if (import.meta.main) {
  const { positionals } = parseArgs({ allowPositionals: true })
  const steps = await missingSteps()
  const [name] = positionals
  if (!steps) console.log('The migrations make what schema.prisma says.')
  else if (!name) {
    console.log(`schema.prisma says more than the migrations make:\n\n${steps}`)
    process.exitCode = 1
  } else {
    const next = String((await readMigrations(MIGRATIONS)).length + 1).padStart(4, '0')
    const folder = join(MIGRATIONS, `${next}_${name}`)
    await mkdir(folder)
    await writeFile(join(folder, 'migration.sql'), steps)
    console.log(`Wrote ${folder}/migration.sql. Read it, then start anything: it is applied then.`)
  }
}
