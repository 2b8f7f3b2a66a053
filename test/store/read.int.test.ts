import { describe, expect, it } from 'vitest'
import { emptyRecord } from '../../services/store/empty.ts'
import type { Aside, Said } from '../../services/store/kept-record.ts'
import {
  claimOf,
  factOf,
  readNames,
  readNumbers,
  readPositions,
  snapshot,
} from '../../services/store/read.ts'
import {
  readDecisionsFrom,
  readReports,
  readReportsBy,
  readReportsOf,
  readReportsOn,
  readSetAside,
  readSetAsideAt,
} from '../../services/store/read-reports.ts'
import { writeSlice } from '../../services/store/write.ts'
import { onEachDatabase } from './databases.ts'
import { chunksSince, PLACE, sliceOf, tapped, unreadable } from './records.ts'

const ladles = (count: number) => Array.from({ length: count }, (_, i) => tapped(`L${i}`))

onEachDatabase('Reading', (database) => {
  describe('decisions that came in since a place', () => {
    it('are those of the plant, in order, and nothing that a station said', async () => {
      const decided = (id: string, plant = 'north') => tapped(id, { plant, station: 'quality' })
      const said = [
        decided('L1'),
        tapped('L2'),
        decided('L3'),
        decided('L4', 'south'),
        decided('L5'),
      ]
      await writeSlice(database.store, sliceOf(0, said))
      const since = (offset: bigint, most = 10) =>
        readDecisionsFrom(database.store.pool, 'north', { ...PLACE, offset }, most)
      const ids = (found: Awaited<ReturnType<typeof since>>) =>
        found.map(({ statement }) => statement.id)
      expect(ids(await since(0n))).toEqual(['L1', 'L3', 'L5'])
      expect(ids(await since(1n))).toEqual(['L3', 'L5'])
      expect(ids(await since(0n, 2))).toEqual(['L1', 'L3'])
    })
  })

  describe('what was written since a position', () => {
    it('comes whole and in order, whatever the size of the chunks', async () => {
      await writeSlice(
        database.store,
        sliceOf(0, (ladles(10) as (Said | Aside)[]).toSpliced(4, 0, unreadable())),
      )
      const read = (next: bigint, most?: number) =>
        snapshot(database.store, (client) => chunksSince(client, next, most))
      const whole = await read(0n)
      expect(whole).toHaveLength(1)
      expect(whole[0]!.statements.map(([offset]) => offset)).toEqual([
        0, 1, 2, 3, 5, 6, 7, 8, 9, 10,
      ])
      for (const most of [1, 3, 10, 11]) {
        const chunks = await read(0n, most)
        expect(chunks.flatMap((chunk) => chunk.statements)).toEqual(whole[0]!.statements)
        expect(chunks.flatMap((chunk) => chunk.facts)).toEqual(whole[0]!.facts)
        for (const { statements, facts } of chunks) {
          const offsets = new Set(statements.map(([offset]) => offset))
          expect(facts.every(([offset]) => offsets.has(offset))).toBe(true)
        }
      }
      const since = await read(9n)
      expect(since[0]!.statements.map(([offset]) => offset)).toEqual([9, 10])
      expect(await read(11n)).toEqual([])
    })

    it('gives back each claim and fact as it was, with numbers for names', async () => {
      const said = tapped('L1')
      said.claim = {
        ...said.claim,
        joins: { source: 'https://foundry.example/plant/north/melt', id: 'L0' },
        slot: 'north melt.heat-tapped H-1 L1',
        from: 5,
        until: 7,
        rank: 2,
        void: true,
      }
      await writeSlice(database.store, sliceOf(0, [said, tapped('L2')]))
      await snapshot(database.store, async (client) => {
        const [chunk] = await chunksSince(client, 0n)
        expect(chunk!.statements.map(claimOf)).toEqual([said.claim, tapped('L2').claim])
        const fact = factOf(chunk!.facts[0]!)
        const names = await readNames(client, [fact.of, 999_999])
        expect([...names]).toEqual([[fact.of, { plant: 'north', name: 'ladle:L1' }]])
        const asked = ['heat:H-1', 'furnace:F1', 'heat:never'].map((name) => ({
          plant: 'north',
          name,
        }))
        const numbers = await readNumbers(client, asked)
        expect(fact).toEqual({
          ...{ what: 'ladle-tapped', of: fact.of, at: said.statement.at, amount: 500_000 },
          other: numbers.find(asked[0]!),
          via: numbers.find(asked[1]!),
        })
        expect(numbers.find(asked[2]!)).toBeUndefined()
      })
    })

    it('agrees with the positions, though others write meanwhile', async () => {
      const other = await database.another()
      await writeSlice(database.store, sliceOf(0, ladles(5)))
      let writing: Promise<unknown> = Promise.resolve()
      await snapshot(database.store, async (client) => {
        const [position] = await readPositions(client)
        writing = writeSlice(other, sliceOf(5, ladles(5)))
        // Only a server has a second connection; embedded, the writer waits for this snapshot.
        if (!database.store.embedded) await writing
        const [chunk] = await chunksSince(client, 0n)
        expect(position!.next).toBe(5n)
        expect(chunk!.statements).toHaveLength(5)
        expect(await readPositions(client)).toEqual([position])
      })
      await writing
      expect((await readPositions(database.store.pool))[0]!.next).toBe(10n)
      await other.close()
    })

    it('stays whole when the record is emptied meanwhile', async () => {
      const other = await database.another()
      await writeSlice(database.store, sliceOf(0, ladles(5)))
      let emptying: Promise<unknown> = Promise.resolve()
      await snapshot(database.store, async (client) => {
        await readNames(client, [1])
        emptying = emptyRecord(other)
        // Time enough for the other to get as far as it can.
        await client.query('select pg_sleep(0.2)')
        const [position] = await readPositions(client)
        const [chunk] = await chunksSince(client, 0n)
        expect(position!.next).toBe(5n)
        expect(chunk!.statements).toHaveLength(5)
      })
      await emptying
      expect(await readPositions(database.store.pool)).toEqual([])
      await other.close()
    })
  })

  describe('reports', () => {
    it('of a thing come newest first, page by page, each once', async () => {
      const outcomes = ladles(25).map((said, i) => ({
        ...said,
        statement: { ...said.statement, at: 1_000 + ((i * 7) % 10) },
      }))
      await writeSlice(database.store, sliceOf(0, outcomes))
      const { pool } = database.store
      const heat = { plant: 'north', name: 'heat:H-1' }
      const no = (await readNumbers(pool, [heat])).of(heat)
      const seen = []
      for (let page = await readReportsOf(pool, no, { most: 4 }); page.length > 0; ) {
        seen.push(...page)
        const { place, statement } = page.at(-1)!
        page = await readReportsOf(pool, no, { most: 4, after: { at: statement.at, place } })
      }
      expect(new Set(seen.map(({ place }) => place.offset)).size).toBe(25)
      expect(seen).toHaveLength(25)
      const times = seen.map(({ statement }) => statement.at)
      expect(times).toEqual(times.toSorted((a, b) => b - a))
      expect(await readReportsOf(pool, -1, { most: 4 })).toEqual([])
    })

    it('are found by place, by key and by what they correct, as they were said', async () => {
      const first = tapped('L1', {
        ...{ timespreadSeconds: 1.5, entry: 'hand', sequence: 7, supersedes: 'L0' },
        carried: { senttime: '2026-03-02T06:40:01-06:00' },
      })
      first.claim.joins = { source: first.statement.source, id: 'L0' }
      first.flags = ['celsius is out of the ordinary', 'a "second", {flag}']
      const { subject: _, ...bare } = tapped('L2').statement
      await writeSlice(
        database.store,
        sliceOf(0, [first, { ...tapped('L2'), statement: bare, facts: [] }]),
      )
      const { pool } = database.store
      const places = [0n, 1n, 9n].map((offset) => ({ ...PLACE, offset }))
      const found = await readReports(pool, places)
      found.sort((a, b) => Number(a.place.offset - b.place.offset))
      expect(found).toEqual([
        { place: places[0], statement: first.statement, flags: first.flags },
        { place: places[1], statement: bare, flags: [] },
      ])
      const { source } = first.statement
      expect(await readReportsBy(pool, { source, id: 'L1' })).toEqual([found[0]])
      expect(await readReportsOn(pool, { source, id: 'L0' })).toEqual([found[0]])
      expect(await readReportsOn(pool, { source, id: 'L1' })).toEqual([])
    })

    it('set aside come newest first, of a plant and of nobody known, with their bytes on asking', async () => {
      const aside = (recorded: number, more: object = {}) => ({
        ...unreadable(),
        recorded,
        ...more,
      })
      await writeSlice(
        database.store,
        sliceOf(0, [
          aside(30, { plant: 'north', class: 'SCHEMA', type: 'melt.x.v1', source: 's' }),
          aside(10, { plant: 'south', class: 'SCHEMA' }),
          aside(50),
          aside(40, { plant: 'north', class: 'DOMAIN' }),
        ]),
      )
      const { store } = database
      const page = await readSetAside(store, 'north', { most: 2 })
      expect(page.map(({ recorded }) => recorded)).toEqual([50, 40])
      const rest = await readSetAside(store, 'north', { most: 2, after: page[1]! })
      expect(rest).toMatchObject([{ offset: 0n, class: 'SCHEMA', type: 'melt.x.v1', source: 's' }])
      expect(await readSetAside(store, 'north', { most: 9, topic: 'pour' })).toEqual([])
      expect(await readSetAside(store, 'north', { most: 9, topic: 'melt' })).toHaveLength(3)
      const one = await readSetAsideAt(store, { ...PLACE, offset: 2n })
      expect(Buffer.from(one!.bytes).toString()).toBe('record 2')
      expect(await readSetAsideAt(store, { ...PLACE, offset: 9n })).toBeNull()
    })
  })
})
