import { cp, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { migrate, readMigrations } from '../../services/store/migrate.ts'
import { onEachDatabase } from './databases.ts'

onEachDatabase(
  'Migrating',
  (database) => {
    let folder: string

    beforeEach(async () => {
      folder = await mkdtemp(join(tmpdir(), 'migrations-'))
      await cp(join(import.meta.dirname, '../../prisma/migrations'), folder, { recursive: true })
    })
    afterEach(() => rm(folder, { recursive: true }))

    async function addMigration(name: string, script: string): Promise<void> {
      await mkdir(join(folder, name))
      await writeFile(join(folder, name, 'migration.sql'), script)
    }

    async function edit(name: string, change: (script: string) => string): Promise<void> {
      const path = join(folder, name, 'migration.sql')
      await writeFile(path, change(await readFile(path, 'utf8')))
    }

    async function tables(): Promise<string[]> {
      const { rows } = await database.store.pool.query(
        `select table_name from information_schema.tables where table_schema = 'public'`,
      )
      return rows.map((row) => row.table_name)
    }

    it('makes the tables once: the second time nothing is left to do', async () => {
      const all = (await readMigrations(folder)).map(({ name }) => name)
      expect(await migrate(database.store, folder)).toEqual(all)
      expect(await migrate(database.store, folder)).toEqual([])
      expect(await tables()).toEqual(expect.arrayContaining(['thing', 'statement', 'fact']))
    })

    it('applies only what was added since', async () => {
      await migrate(database.store, folder)
      await addMigration('9000_spot', 'create table spot (no integer primary key);')
      expect(await migrate(database.store, folder)).toEqual(['9000_spot'])
      expect(await tables()).toContain('spot')
    })

    it('refuses to go on when an applied migration was edited', async () => {
      await migrate(database.store, folder)
      await edit('0001_record', (script) => `${script}\n-- an afterthought\n`)
      await expect(migrate(database.store, folder)).rejects.toThrow(
        'Migration 0001_record was edited after it had been applied: put its file back',
      )
    })

    it('takes a file with other line ends for the same', async () => {
      await migrate(database.store, folder)
      await edit('0001_record', (script) => script.replaceAll('\n', '\r\n'))
      expect(await migrate(database.store, folder)).toEqual([])
    })

    it('refuses a database that has seen a migration missing here', async () => {
      await addMigration('9000_spot', 'create table spot (no integer primary key);')
      await migrate(database.store, folder)
      await rm(join(folder, '9000_spot'), { recursive: true })
      await expect(migrate(database.store, folder)).rejects.toThrow('9000_spot was applied')
    })

    it('leaves neither table nor entry behind when a migration fails half way', async () => {
      await addMigration('9000_spot', 'create table spot (no integer);\nselect 1 / 0;')
      await expect(migrate(database.store, folder)).rejects.toThrow(
        '9000_spot could not be applied',
      )
      expect(await tables()).not.toContain('spot')
      await edit('9000_spot', () => 'create table spot (no integer);')
      expect(await migrate(database.store, folder)).toEqual(['9000_spot'])
    })

    it('keeps function bodies with semicolons whole', async () => {
      await addMigration(
        '9000_twice',
        'create function twice(n integer) returns integer language plpgsql as $$ begin n := n * 2; return n; end $$;',
      )
      await migrate(database.store, folder)
      const { rows } = await database.store.pool.query('select twice(21) as answer')
      expect(rows).toEqual([{ answer: 42 }])
    })

    it('lets one of two starting at once do the work', async () => {
      const other = await database.another()
      const applied = await Promise.all([migrate(database.store), migrate(other)])
      expect(applied.filter((names) => names.length > 0)).toHaveLength(1)
      await other.close()
    })
  },
  { tables: false },
)
