// Each role does its work, and nothing more.
import { randomUUID } from 'node:crypto'
import { graphql } from 'graphql'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { prepareRecord } from '../../services/genealogy/prepare.ts'
import { refreshAnalytics } from '../../services/query/analytics/command.ts'
import { contextOver } from '../../services/query/context-over.ts'
import { Snapshot } from '../../services/query/record/snapshot.ts'
import { makeSchema } from '../../services/query/schema.ts'
import { connect, type Store } from '../../services/store/connect.ts'
import { noteFollowedLog, noteLevel } from '../../services/store/followed-log.ts'
import { Leases } from '../../services/store/lease.ts'
import { migrate } from '../../services/store/migrate.ts'
import { DUTIES, type Duty, grantRights, roleOf } from '../../services/store/rights.ts'
import { newPostgres, type TestPostgres } from '../log/real-postgres.ts'
import { QUALITY } from '../query/asking.ts'
import { PLANT, Record } from '../query/record.ts'
import { DAY } from '../query/small-plant.ts'

const make = await newPostgres
const SCHEMA = 'record_of_test'
/** A sign in PostgreSQL that somebody has no right to. */
const DENIED = '42501'

describe.skipIf(typeof make === 'string')('Roles in PostgreSQL', () => {
  // Roles are of the whole server, and other tests may run on it.
  const prefix = `t${randomUUID().slice(0, 8)}_`
  const stores = {} as { [duty in Duty]: Store }
  let postgres: TestPostgres
  let place: { url: string; schema: string }

  beforeAll(async () => {
    postgres = await (make as Exclude<typeof make, string>)()
    place = { url: postgres.url, schema: SCHEMA }
    // Some tables from before there were roles, and some made by them.
    const before = await connect(place)
    await migrate(before)
    await before.close()
    await grantRights(place, prefix)
    for (const duty of DUTIES) {
      const login = `${prefix}${duty}_login`
      await postgres.store.pool.query(
        `create role ${login} login inherit in role ${roleOf(duty, prefix)}`,
      )
      const url = new URL(place.url)
      url.username = login
      url.password = ''
      stores[duty] = await connect({ url: url.href, schema: SCHEMA })
    }
  })

  afterAll(async () => {
    for (const store of Object.values(stores)) await store.close()
    if (!postgres) return
    const roles = DUTIES.flatMap((duty) => [`${prefix}${duty}_login`, roleOf(duty, prefix)])
    for (const role of roles) await postgres.store.pool.query(`drop owned by ${role} cascade`)
    for (const role of roles) await postgres.store.pool.query(`drop role ${role}`)
    await postgres.drop()
  })

  const codeOf = (duty: Duty, statement: string) =>
    stores[duty].pool.query(statement).then(
      () => 'done',
      (error: { code?: string }) => error.code,
    )

  test('genealogy writes the record as project, and agrees with others on who reads what', async () => {
    const store = stores.project
    await prepareRecord(store, (line) => expect.unreachable(line))
    await noteFollowedLog(store, 'a log')
    await new Record(store).say(...DAY)
    const leases = new Leases(store, 'test')
    expect(await leases.share([{ topic: 'melt', partition: 0 }], [])).toHaveLength(1)
    await leases.share([], [])
    expect(await noteLevel(store.pool, 1)).toBe(true)
  })

  test('questions are answered as read', async () => {
    const store = stores.read
    const snapshot = new Snapshot(store)
    const contextValue = contextOver({
      ...{ who: QUALITY, plant: PLANT, store, now: Date.now, waiting: async () => new Map() },
      snapshot: async () => {
        await snapshot.refresh()
        return snapshot
      },
    } as unknown as Parameters<typeof contextOver>[0])
    const source = `{
      packs { totalCount edges { node { id marks reports { totalCount } } } }
      origins(of: {id: "pack:K-1"}) { __typename ... on Origins { sentence } }
      setAside { totalCount }
    }`
    const { data, errors } = await graphql({ schema: makeSchema(), source, contextValue })
    expect(errors).toBeUndefined()
    expect(data).toMatchObject({ packs: { totalCount: 4 }, origins: { __typename: 'Origins' } })
    expect((await store.pool.query('select from in_force limit 1')).rowCount).toBe(1)
  })

  test('tables of analysts are filled as tabulate, and analyze reads those alone', async () => {
    expect(await refreshAnalytics(stores.tabulate)).toMatch(/^19 tables with \d+ rows/)
    const { rows } = await stores.analyze.pool.query('select lot from analytics.pack_lot')
    expect(rows.length).toBeGreaterThan(0)
    for (const statement of [
      `select from ${SCHEMA}.fact`,
      'delete from analytics.lot',
      'create table analytics.more (n int)',
      'create schema more',
    ])
      expect([statement, await codeOf('analyze', statement)]).toEqual([statement, DENIED])
    for (const statement of [
      `delete from ${SCHEMA}.fact`,
      'drop table analytics.lot',
      'create table analytics.more (n int)',
    ])
      expect([statement, await codeOf('tabulate', statement)]).toEqual([statement, DENIED])
    // What is not theirs stays so: doors and questions have no use for it.
    for (const duty of ['project', 'read'] as const)
      expect(await codeOf(duty, 'select from analytics.lot')).toBe(DENIED)
  })

  test('tables are made as migrate', async () => {
    expect(await migrate(stores.migrate)).toEqual([])
    await expect(grantRights(place, prefix)).resolves.toEqual([])
  })

  test('each has its rights on each table, and no other', async () => {
    const { rows } = await postgres.store.pool.query<{ name: string }>(
      `select relname as name from pg_class
       where relnamespace = to_regnamespace($1) and relkind in ('r', 'v')`,
      [SCHEMA],
    )
    expect(rows.length).toBeGreaterThan(7)
    const rights = ['SELECT', 'INSERT', 'UPDATE', 'DELETE', 'TRUNCATE', 'REFERENCES', 'TRIGGER']
    for (const { name } of rows)
      for (const duty of ['project', 'read'] as const) {
        const held = await postgres.store.pool.query<{ has: boolean }>(
          `select has_table_privilege($1, $2, r) as has
           from unnest($3::text[]) with ordinality as u (r, n) order by n`,
          [`${prefix}${duty}_login`, `${SCHEMA}.${name}`, rights],
        )
        const isWritten = duty === 'project' && !['_prisma_migrations', 'in_force'].includes(name)
        const wanted = isWritten ? rights.slice(0, 4) : ['SELECT']
        expect([name, duty, rights.filter((_, i) => held.rows[i]!.has)]).toEqual([
          name,
          duty,
          wanted,
        ])
      }
  })

  test.each([
    'create table more (n int)',
    'create schema more',
    'create temporary table more (n int)',
    'alter table fact add column more int',
    'drop table fact',
    'truncate fact',
    'create role more',
    `update _prisma_migrations set checksum = ''`,
    'select * from pg_authid',
    `drop schema ${SCHEMA} cascade`,
  ])('neither project nor read may: %s', async (statement) => {
    for (const duty of ['project', 'read'] as const)
      expect([duty, await codeOf(duty, statement)]).toEqual([duty, DENIED])
  })

  test.each([
    'insert into thing (plant, kind, name) values (1, 1, 1)',
    'update fact set amount = 0',
    'delete from statement',
    'delete from position',
    'do $$ begin lock table followed_log; end $$',
    'insert into worker values (now(), 1, 1)',
  ])('read may not: %s', async (statement) => {
    expect(await codeOf('read', statement)).toBe(DENIED)
  })

  test('migrate makes no roles, and reads no passwords', async () => {
    expect(await codeOf('migrate', 'create role more')).toBe(DENIED)
    expect(await codeOf('migrate', 'select * from pg_authid')).toBe(DENIED)
  })
})
