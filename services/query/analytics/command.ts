// npm run analytics              works out the tables that analysts read, and puts them into the database
// npm run analytics -- "SELECT"  asks them afterwards, and prints the rows as comma-separated text
import { parseArgs } from 'node:util'
import { momentText } from '../../events/moment.ts'
import { lockFolder } from '../../log/segment/folder-lock.ts'
import { type Settings, settings } from '../../settings.ts'
import { fillAnalytics, makeAnalytics, readPlants } from '../../store/analytics.ts'
import { connect, type Store, transaction } from '../../store/connect.ts'
import { recordPlace } from '../../store/place.ts'
import { type Cell, csvRow } from '../files/csv.ts'
import { Snapshot } from '../record/snapshot.ts'
import { analyticsRows } from './rows.ts'

/** Works out all tables from the record as it is, and replaces what they held; a sentence on what came of it. */
export async function refreshAnalytics(store: Store): Promise<string> {
  const snapshot = new Snapshot(store)
  await snapshot.refresh()
  const moment = snapshot.at()
  const plants = await readPlants(store.pool)
  await makeAnalytics(store)
  const rows = analyticsRows(moment, plants)
  await fillAnalytics(store, rows)
  const all = Object.values(rows).reduce((sum, some) => sum + some.length, 0)
  return `${Object.keys(rows).length} tables with ${all} rows, as of ${momentText(moment.asOf)}.`
}

/** The rows of a question that may only read, with their names in front. */
export async function askAnalytics(store: Store, question: string): Promise<string> {
  const { fields, rows } = await transaction(
    store,
    (client) => client.query({ text: question, rowMode: 'array' }),
    'begin read only',
  )
  const cells = (rows as unknown[][]).map((row) => row.map(cellOf))
  return [fields.map(({ name }) => name), ...cells].map(csvRow).join('')
}

function cellOf(value: unknown): Cell {
  if (value === null || ['string', 'number', 'boolean'].includes(typeof value)) return value as Cell
  return value instanceof Date ? value.toISOString() : JSON.stringify(value)
}

async function openStore(
  { databaseUrl, folder }: Settings,
  open: AsyncDisposableStack,
): Promise<Store> {
  if (!databaseUrl) {
    const lock = await lockFolder(folder)
    open.defer(() => lock.release())
  }
  const store = await connect(recordPlace(settings))
  open.defer(() => store.close())
  return store
}

if (import.meta.main) {
  try {
    const { positionals } = parseArgs({ allowPositionals: true })
    await using open = new AsyncDisposableStack()
    const store = await openStore(settings, open)
    console.log(await refreshAnalytics(store))
    for (const question of positionals) process.stdout.write(await askAnalytics(store, question))
  } catch (error) {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 1
  }
}
