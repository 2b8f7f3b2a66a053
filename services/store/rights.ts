// What each kind of process may do in a PostgreSQL, and no more: whoever makes tables does not answer
// questions, and an answer that went wrong cannot write.
import { makeAnalytics } from './analytics.ts'
import { ANALYTICS } from './analytics-tables.ts'
import { connect, type Database, type DatabasePlace, type Store } from './connect.ts'
import { migrate } from './migrate.ts'
import { dropOldRecords } from './old-records.ts'

/**
 * Roles that nobody signs in as: logins are put into them. `migrate` owns the tables, `project` writes
 * rows, `read` reads them, `tabulate` reads them and fills the tables of analysts, `analyze` reads those and
 * nothing else.
 */
export const DUTIES = ['migrate', 'project', 'read', 'tabulate', 'analyze'] as const
export type Duty = (typeof DUTIES)[number]

export function roleOf(duty: Duty, prefix = 'heat_to_pan_'): string {
  return prefix + duty
}

/**
 * Makes the roles, brings the tables of a record up to date in the name of their owner, and grants each
 * role its part of them. Signed in as somebody who may make roles; doing it again changes nothing.
 * Answers the migrations applied.
 */
export async function grantRights(
  place: Extract<DatabasePlace, { url: string }>,
  prefix?: string,
): Promise<string[]> {
  const [owner, writer, reader, filler, analyst] = DUTIES.map((duty) => roleOf(duty, prefix)) as [
    string,
    string,
    string,
    string,
    string,
  ]
  const store = await connect(place)
  try {
    await makeRoles(store, [owner, writer, reader, filler, analyst])
    await handOver(store.pool, store.schema ?? 'public', owner)
    await handOver(store.pool, 'analytics', owner)
  } finally {
    await store.close()
  }
  // Whatever is made from here on belongs to the owner, and to nobody who signs in.
  const asOwner = await connect({ ...place, url: actingAs(owner, place.url) })
  try {
    const applied = await migrate(asOwner)
    await grant(asOwner.pool, asOwner.schema ?? 'public', { writer, readers: [reader, filler] })
    await makeAnalytics(asOwner)
    await grantAnalytics(asOwner.pool, { filler, analyst })
    await dropOldRecords(asOwner.pool)
    return applied
  } finally {
    await asOwner.close()
  }
}

async function makeRoles({ pool }: Store, names: readonly string[]): Promise<void> {
  for (const name of names) {
    const known = await pool.query('select from pg_roles where rolname = $1', [name])
    if (known.rowCount === 0) await pool.query(`create role ${name} nologin noinherit`)
  }
  const [owner] = names
  const { rows } = await pool.query<{ database: string; who: string }>(
    'select quote_ident(current_database()) as database, quote_ident(current_user) as who',
  )
  const { database, who } = rows[0]!
  await pool.query(`revoke all on database ${database} from public;
    grant connect on database ${database} to ${names.join(', ')};
    grant create on database ${database} to ${owner};
    grant ${owner} to ${who}`)
}

/** Tables that were made before there were roles get their owner. */
async function handOver(database: Database, schema: string, owner: string): Promise<void> {
  const { rows } = await database.query<{ change: string }>(
    `select format('alter schema %I owner to %I', nspname, $2::text) as change
       from pg_namespace where nspname = $1
     union all
     select format('alter %s %I.%I owner to %I',
         case relkind when 'v' then 'view' else 'table' end, $1::text, relname, $2::text)
       from pg_class where relnamespace = to_regnamespace($1) and relkind in ('r', 'v')
     union all
     select format('alter function %s owner to %I', oid::regprocedure, $2::text)
       from pg_proc where pronamespace = to_regnamespace($1)`,
    [schema, owner],
  )
  for (const { change } of rows) await database.query(change)
}

async function grant(
  database: Database,
  schema: string,
  { writer, readers }: { writer: string; readers: readonly string[] },
): Promise<void> {
  const { rows } = await database.query<{ name: string }>(
    `select format('%I.%I', $1::text, relname) as name from pg_class
     where relnamespace = to_regnamespace($1) and relkind = 'r' and relname <> '_prisma_migrations'`,
    [schema],
  )
  const tables = rows.map(({ name }) => name).join(', ')
  await database.query(`revoke all on schema "${schema}" from public;
    grant usage on schema "${schema}" to ${[writer, ...readers].join(', ')};
    grant select on all tables in schema "${schema}" to ${[writer, ...readers].join(', ')};
    grant insert, update, delete on ${tables} to ${writer};
    grant usage on all sequences in schema "${schema}" to ${writer}`)
}

async function grantAnalytics(
  database: Database,
  { filler, analyst }: { filler: string; analyst: string },
): Promise<void> {
  await database.query(`revoke all on schema analytics from public;
    grant usage on schema analytics to ${filler}, ${analyst};
    grant select on all tables in schema analytics to ${filler}, ${analyst};
    grant insert, delete on ${Object.keys(ANALYTICS).map((name) => `analytics.${name}`)} to ${filler}`)
}

/** The address of a database, doing everything in the name of a role. */
function actingAs(role: string, address: string): string {
  const url = new URL(address)
  const options = url.searchParams.get('options') ?? ''
  url.searchParams.set('options', `${options} -c role=${role}`.trim())
  return url.href
}
