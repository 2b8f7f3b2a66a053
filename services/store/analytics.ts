// Makes the tables that analysts read, in a schema of their own, and puts into them what was worked out.
// Whoever reads meanwhile sees the rows from before.
import {
  ANALYTICS,
  ANALYTICS_EDITION,
  ANALYTICS_VIEWS,
  type AnalyticsName,
  type AnalyticsTable,
} from './analytics-tables.ts'
import { copyRows, type Row, table } from './columns.ts'
import { type Database, type Store, transaction } from './connect.ts'

const TABLES = Object.entries(ANALYTICS) as [AnalyticsName, AnalyticsTable][]

/** Rows by table. */
export type AnalyticsRows = Record<AnalyticsName, Row<string>[]>

/** One at a time makes or fills the tables. */
const LOCK = 'select pg_advisory_xact_lock(72707370)'

/** Makes the schema and its tables where they are not there, or are of another edition. */
export async function makeAnalytics(store: Store): Promise<void> {
  await transaction(store, async (client) => {
    await client.query(LOCK)
    if (await isMade(client)) return
    await client.query(`drop schema if exists analytics cascade; create schema analytics`)
    for (const [name, one] of TABLES) await makeTable(client, name, one)
    for (const [name, { means, query }] of Object.entries(ANALYTICS_VIEWS))
      await client.query(`create view analytics.${name} as ${query};
        comment on view analytics.${name} is ${literal(means)}`)
    await client.query(
      `comment on schema analytics is ${literal(`Tables for analysts, edition ${ANALYTICS_EDITION}.`)}`,
    )
  })
}

async function isMade(client: Database): Promise<boolean> {
  const { rows } = await client.query<{ said: string | null }>(
    `select obj_description(to_regnamespace('analytics'), 'pg_namespace') as said`,
  )
  return rows[0]?.said === `Tables for analysts, edition ${ANALYTICS_EDITION}.`
}

async function makeTable(client: Database, name: string, one: AnalyticsTable): Promise<void> {
  const columns = Object.entries(one.columns)
  const defined = columns.map(([column, { type }]) => `${column} ${type}`)
  const comments = columns.map(
    ([column, { means }]) => `comment on column analytics.${name}.${column} is ${literal(means)};`,
  )
  await client.query(`create table analytics.${name} (${defined.join(', ')}, primary key (${one.key.join(', ')}));
    comment on table analytics.${name} is ${literal(one.means)}; ${comments.join(' ')}`)
}

/** Replaces all rows in one transaction. The tables must have been made. */
export async function fillAnalytics(store: Store, rows: AnalyticsRows): Promise<void> {
  await transaction(store, async (client) => {
    await client.query(LOCK)
    for (const [name, one] of TABLES) {
      await client.query(`delete from analytics.${name}`)
      await copyRows(client, copied(name, one), rows[name])
    }
  })
}

function copied(name: string, { columns }: AnalyticsTable) {
  return table<string>(
    `analytics.${name}`,
    Object.fromEntries(
      Object.entries(columns).map(([column, { type }]) => [
        column,
        type === 'timestamptz' || type === 'timestamp' ? 'text' : type,
      ]),
    ),
  )
}

/** Plants that the record knows things of. */
export async function readPlants(database: Database): Promise<string[]> {
  const { rows } = await database.query<{ plant: string }>(
    'select distinct plant from thing order by plant',
  )
  return rows.map(({ plant }) => plant)
}

/** Text as SQL writes it. */
export function literal(said: string): string {
  return `'${said.replaceAll("'", "''")}'`
}
