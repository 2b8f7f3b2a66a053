import { describe, expect, it } from 'vitest'
import type { Store } from '../../services/store/connect.ts'
import type { CopyIn } from '../../services/store/copy.ts'
import { readPositions, snapshot } from '../../services/store/read.ts'
import { writeSlice } from '../../services/store/write.ts'
import { onEachDatabase } from './databases.ts'
import { chunksSince, PLACE, sliceOf, tapped, unreadable } from './records.ts'

/** All that is in the database, as texts. */
async function everything(store: Store): Promise<string[]> {
  const { rows } = await store.pool.query(`
    select 'statement ' || statement::text as line from statement
    union all select 'fact ' || fact::text from fact
    union all select 'set aside ' || set_aside::text from set_aside
    union all select 'position ' || topic || '/' || partition || ' ' || next_offset from position
    order by line`)
  return rows.map((row) => row.line)
}

async function setAside(store: Store) {
  const { rows } = await store.pool.query(
    `select "offset"::int as offset, class, reason, convert_from(bytes, 'UTF8') as bytes
     from set_aside order by "offset"`,
  )
  return rows
}

onEachDatabase('Writing', (database) => {
  describe('one writer', () => {
    it('writes statements, facts and what is set aside, and goes on behind them', async () => {
      const written = await writeSlice(
        database.store,
        sliceOf(0, [tapped('L1'), unreadable(), tapped('L2')]),
      )
      expect(written).toEqual({ statements: 2, facts: 2, setAside: 1, dropped: 0, next: 3n })
      const positions = await readPositions(database.store.pool)
      expect(positions).toEqual([{ ...PLACE, next: 3n, projection: 'p1' }])
    })

    it('changes nothing when a batch is delivered again', async () => {
      const slice = sliceOf(0, [tapped('L1'), unreadable(), tapped('L2')])
      await writeSlice(database.store, slice)
      const before = await everything(database.store)
      const again = await writeSlice(database.store, slice)
      expect(again).toEqual({ statements: 0, facts: 0, setAside: 0, dropped: 3, next: 3n })
      expect(await everything(database.store)).toEqual(before)
    })

    it('takes of an overlapping batch only what is new', async () => {
      const outcomes = ['L1', 'L2', 'L3', 'L4', 'L5'].map((ladle) => tapped(ladle))
      await writeSlice(database.store, sliceOf(0, outcomes.slice(0, 3)))
      const written = await writeSlice(database.store, sliceOf(1, outcomes.slice(1)))
      expect(written).toMatchObject({ statements: 2, dropped: 2, next: 5n })
      const overlapping = await everything(database.store)
      await database.store.pool.query('truncate statement, fact, set_aside, position')
      await writeSlice(database.store, sliceOf(0, outcomes))
      expect(overlapping).toEqual(await everything(database.store))
    })

    it('refuses a batch that leaves out a record, before it or inside it', async () => {
      await writeSlice(database.store, sliceOf(0, [tapped('L1')]))
      const before = await everything(database.store)
      const late = writeSlice(database.store, sliceOf(2, [tapped('L3')]))
      await expect(late).rejects.toMatchObject({
        code: 'STORE_GAP',
        message: expect.stringContaining('melt/0 goes on at 1 and was given 2'),
      })
      const slice = sliceOf(1, [tapped('L2'), tapped('L3'), tapped('L4')])
      const holed = { ...slice, records: slice.records.filter(({ offset }) => offset !== 2n) }
      await expect(writeSlice(database.store, holed)).rejects.toMatchObject({ code: 'STORE_GAP' })
      expect(await everything(database.store)).toEqual(before)
    })

    it('refuses to write beside another version of the event types', async () => {
      await writeSlice(database.store, sliceOf(0, [tapped('L1')]))
      const other = { ...sliceOf(1, [tapped('L2')]), projection: 'p2' }
      await expect(writeSlice(database.store, other)).rejects.toMatchObject({
        code: 'STORE_OTHER_PROJECTION',
      })
    })

    it('gives a thing one number, whoever names it', async () => {
      await writeSlice(database.store, sliceOf(0, [tapped('L1'), tapped('L2')]))
      await writeSlice(database.store, sliceOf(2, [tapped('L3', { plant: 'south' })]))
      const { rows } = await database.store.pool.query(
        `select plant, kind || ':' || name as name, count(*)::int from thing group by 1, 2 order by 1, 2`,
      )
      expect(rows.map((row) => `${row.plant}/${row.name} ${row.count}`)).toEqual([
        'north/furnace:F1 1',
        'north/heat:H-1 1',
        'north/ladle:L1 1',
        'north/ladle:L2 1',
        'south/furnace:F1 1',
        'south/heat:H-1 1',
        'south/ladle:L3 1',
      ])
    })
  })

  describe('a crash', () => {
    it.each(['copy statement', 'copy fact', 'copy set_aside', 'update position', 'commit'])(
      'at "%s" leaves all as it was, and the batch goes in when it comes again',
      async (point) => {
        await writeSlice(database.store, sliceOf(0, [tapped('L1')]))
        const before = await everything(database.store)
        const slice = sliceOf(1, [tapped('L2'), unreadable()])
        const failing = failingAt(database.store, point)
        await expect(writeSlice(failing, slice)).rejects.toThrow('the connection broke')
        expect(await everything(database.store)).toEqual(before)
        expect(await writeSlice(database.store, slice)).toMatchObject({
          statements: 1,
          setAside: 1,
        })
      },
    )

    it('after the commit whose answer was lost doubles nothing', async () => {
      const slice = sliceOf(0, [tapped('L1'), tapped('L2')])
      const failing = failingAt(database.store, 'commit', 'after')
      await expect(writeSlice(failing, slice)).rejects.toThrow('the connection broke')
      expect(await writeSlice(database.store, slice)).toMatchObject({ statements: 0, dropped: 2 })
    })
  })

  describe('two writers of one partition', () => {
    it('write every record once, however they overlap', async () => {
      const outcomes = Array.from({ length: 60 }, (_, i) => tapped(`L${i}`))
      const other = await database.another()
      const writeAll = async (store: Store, size: number) => {
        let written = 0
        for (let first = 0; first < outcomes.length; first += size) {
          const slice = sliceOf(first, outcomes.slice(first, first + size))
          // The other may be behind: then this one waits for its records to come.
          for (;;) {
            const done = await writeSlice(store, slice).catch((error) => {
              if (error.code === 'STORE_GAP') return undefined
              throw error
            })
            if (!done) continue
            written += done.statements
            break
          }
        }
        return written
      }
      const written = await Promise.all([writeAll(database.store, 7), writeAll(other, 11)])
      await other.close()
      expect(written[0] + written[1]).toBe(60)
      const { rows } = await database.store.pool.query(
        `select count(*)::int as statements, count(distinct id)::int as ids, max("offset")::int as last
         from statement`,
      )
      expect(rows).toEqual([{ statements: 60, ids: 60, last: 59 }])
    })

    it('who name the same new things at once get the same numbers', async () => {
      const other = await database.another()
      const outcomes = Array.from({ length: 40 }, (_, i) => tapped(`L${i}`))
      const reversed = { ...sliceOf(0, outcomes.toReversed()), partition: 1 }
      const records = reversed.records.map((record) => ({ ...record, partition: 1 }))
      await Promise.all([
        writeSlice(database.store, sliceOf(0, outcomes)),
        writeSlice(other, { ...reversed, records }),
      ])
      await other.close()
      const { rows } = await database.store.pool.query(
        `select count(*)::int as things, count(distinct (plant, kind, name))::int as names from thing`,
      )
      expect(rows).toEqual([{ things: 42, names: 42 }])
    })
  })

  describe('what the database cannot hold', () => {
    const poisoned = {
      'a NUL in what was entered': tapped('bad', { entered: { note: 'a\0b' } }),
      'half a surrogate pair in what was entered': tapped('bad', { entered: { note: '\ud800' } }),
      'a NUL in the name of a thing': tapped('bad', { subject: 'ladle:a\0b' }),
      'a name longer than an index holds': tapped('bad', { subject: `ladle:${randomText(9_000)}` }),
      'a time that is no number': tapped('bad', { at: Number.NaN }),
      'a mass beyond all numbers': tapped('bad', {}, [
        {
          what: 'charge-line',
          of: 'charge:C',
          other: 'lot:A',
          amount: Number.POSITIVE_INFINITY,
          at: 1,
        },
      ]),
      'half a surrogate pair in its id': tapped('bad', { id: 'x\ud800' }),
    }
    it.each(Object.entries(poisoned))('is set aside alone: %s', async (_, bad) => {
      const outcomes = Array.from({ length: 9 }, (_, i) => tapped(`L${i}`))
      const written = await writeSlice(database.store, sliceOf(0, outcomes.toSpliced(5, 0, bad)))
      expect(written).toMatchObject({ statements: 9, facts: 9, setAside: 1, next: 10n })
      expect(await setAside(database.store)).toMatchObject([
        { offset: 5, class: 'DOMAIN', bytes: 'record 5' },
      ])
    })

    it('is found among others like it, and nothing set aside before is lost', async () => {
      const bad = () => tapped('bad', { entered: { note: '\0' } })
      const outcomes = [bad(), tapped('L1'), unreadable(), bad(), bad(), tapped('L2'), bad()]
      const written = await writeSlice(database.store, sliceOf(0, outcomes))
      expect(written).toMatchObject({ statements: 2, setAside: 5, next: 7n })
      const kept = await setAside(database.store)
      expect(kept.map(({ offset }) => offset)).toEqual([0, 2, 3, 4, 6])
      expect(kept[1]).toMatchObject({ class: 'UNDECODABLE', reason: 'Its bytes are no event.' })
    })

    it('is kept even when its reason and key hold what no text may', async () => {
      const slice = sliceOf(0, [unreadable('bad \0 bytes \ud800')])
      const records = slice.records.map((record) => ({ ...record, key: 'k\0' }))
      await writeSlice(database.store, { ...slice, records })
      expect(await setAside(database.store)).toMatchObject([
        { offset: 0, reason: 'bad \uFFFD bytes \uFFFD' },
      ])
    })
  })

  it('reads back every number, text and mark of what was written', async () => {
    const said = tapped(
      'L "1"\\',
      { sequence: 2 ** 40, timespreadSeconds: 0.25, entry: 'scan', carried: { senttime: 'x' } },
      [
        {
          what: 'ladle-tapped',
          of: 'ladle:L',
          other: 'heat:H',
          via: 'furnace:F',
          amount: 0.1 + 0.2,
          at: -5,
          heel: 1e-300,
          steel: 'Nº {7},"a"',
        },
        {
          what: 'molds-made',
          of: 'molds:M',
          via: 'line:1',
          pattern: 'P',
          first: 1,
          last: 40,
          from: 3,
          at: 2 ** 41,
        },
      ],
    )
    await writeSlice(database.store, sliceOf(0, [said]))
    const chunks = await snapshot(database.store, (client) => chunksSince(client, 0n))
    expect(chunks).toHaveLength(1)
    expect(
      chunks[0]!.facts.map(([, , what, , , , amount, at, detail]) => [what, amount, at, detail]),
    ).toEqual([
      ['ladle-tapped', 0.1 + 0.2, -5, { heel: 1e-300, steel: 'Nº {7},"a"' }],
      ['molds-made', null, 2 ** 41, { pattern: 'P', first: 1, last: 40, from: 3 }],
    ])
  })
})

/** Random enough not to be compressed below what an index row holds. */
function randomText(length: number): string {
  let state = 1
  return Array.from({ length }, () => {
    state = (state * 48_271) % 2_147_483_647
    return String.fromCharCode(97 + (state % 26))
  }).join('')
}

/** The same store, but the connection breaks before or after a statement that begins so. */
function failingAt(store: Store, start: string, when: 'before' | 'after' = 'before'): Store {
  const pool = Object.create(store.pool, {
    query: { value: store.pool.query.bind(store.pool) },
    connect: {
      value: async () => {
        const client = await store.pool.connect()
        const query = client.query.bind(client) as (...args: unknown[]) => Promise<unknown>
        const release = client.release.bind(client)
        return Object.assign(Object.create(client), {
          async query(...args: unknown[]) {
            const [asked] = args as [string | CopyIn]
            const text = typeof asked === 'string' ? asked : asked.text
            if (!text.trim().startsWith(start)) return query(...args)
            if (when === 'after') await query(...args)
            throw new Error('the connection broke')
          },
          // Broken off: the server rolls back by itself.
          release: () => release(true),
        })
      },
    },
  })
  return { ...store, pool }
}
