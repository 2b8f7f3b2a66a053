import { describe, expect, it } from 'vitest'
import { genealogy } from '../../services/genealogy/consume.ts'
import { prepareRecord } from '../../services/genealogy/prepare.ts'
import type { LogRecord, Reader } from '../../services/log/log.ts'
import type { Store } from '../../services/store/connect.ts'
import { onEachDatabase } from '../store/databases.ts'
import { entry, type Said, shift } from './events.ts'
import { openLog, takeAll } from './house.ts'

async function counted(store: Store) {
  const { rows } = await store.pool.query(`
    select (select count(*)::int from statement) as statements,
      (select count(*)::int from (select distinct source, id, hash from statement) as kept) as distinct,
      (select count(*)::int from fact) as facts,
      (select count(*)::int from set_aside) as "setAside",
      (select sum(next_offset)::int from position) as read`)
  return rows[0]
}

/** A tap as it should be, or with a field that is none. */
const tap = (id: string, more: object = {}): Said => ({
  ...{ type: 'melt.heat-tapped.v1', id },
  data: { heat: 'H', furnace: 'F1', ladle: `L-${id}`, kg: 500, ...more },
})

/** Records of melt/0 from an offset on. */
function records(values: readonly Uint8Array[], first = 0): LogRecord[] {
  return values.map((value, i) => ({
    ...{ topic: 'melt', partition: 0, offset: BigInt(first + i), key: 'k', value },
  }))
}

const values = (events: readonly Said[]) => events.map((event) => entry(event).value)

onEachDatabase('Genealogy', (database) => {
  it('takes in what the log holds, and what comes while it follows', async () => {
    await using house = await openLog()
    await house.say(shift(8))
    const reader = genealogy({
      ...house,
      store: database.store,
      now: () => 0,
      tell: () => undefined,
    })
    const following = await house.log.follow(reader)
    await following.settled()
    expect(await counted(database.store)).toEqual({
      ...{ statements: 48, distinct: 48, facts: 62, setAside: 0, read: 48 },
    })
    await house.say(shift(9).slice(48))
    await following.settled()
    await following.stop()
    expect(await counted(database.store)).toMatchObject({ statements: 54, read: 54 })
  })

  it('goes on where it stopped, and takes nothing twice', async () => {
    await using house = await openLog()
    const events = shift(12)
    for (let end = 10; end <= 80; end += 14) {
      await house.say(events.slice(end === 10 ? 0 : end - 14, end))
      await takeAll(house.log, database.store)
    }
    const { statements, distinct, read } = await counted(database.store)
    expect([statements, distinct, read]).toEqual([72, 72, 72])
  })

  it('lets two follow the same partitions at once and has every record once', async () => {
    await using house = await openLog(1)
    await house.say(shift(40))
    const other = await database.another()
    const reader = (group: string, store: Store): Reader => {
      const made = genealogy({ log: house.log, store, now: () => 0, tell: () => undefined })
      return { group, from: made.from.bind(made), take: made.take.bind(made) }
    }
    const rivals = await Promise.all([
      house.log.follow(reader('one', database.store)),
      house.log.follow(reader('another', other)),
    ])
    await Promise.all(rivals.map((following) => following.settled()))
    await Promise.all(rivals.map((following) => following.stop()))
    await other.close()
    expect(await counted(database.store)).toMatchObject({
      statements: 240,
      distinct: 240,
      read: 240,
    })
  })

  it('sets aside what is no statement, whole and with the reason, and goes on', async () => {
    const bad: [string, Uint8Array][] = [
      ['UNDECODABLE', Buffer.from([0xff, 0xfe, 0x00, 0x80])],
      ['UNDECODABLE', Buffer.from('')],
      ['UNDECODABLE', Buffer.from('{"specversion":"1.0",')],
      ['OVERSIZE', Buffer.alloc(300_000, 0x20)],
      ['SCHEMA', entry(tap('no-kg', { kg: 'much' })).value],
      ['DOMAIN', entry(tap('negative', { kg: -5 })).value],
      ['UNKNOWN', entry({ ...tap('later'), type: 'melt.heat-sung.v1' }).value],
      ['FORGED', entry({ ...tap('forged'), type: 'receive.lot-received.v1' }).value],
      ['FORGED', entry({ ...tap('liar'), more: { type: 'pour.molds-poured.v1' } }).value],
    ]
    const batch = bad.flatMap(([, bytes], i) => [bytes, ...values([tap(`good-${i}`)])])
    const reader = genealogy({
      ...{
        store: database.store,
        log: { spans: async () => [] },
        now: () => 7,
        tell: () => undefined,
      },
    })
    await reader.take(records(batch))
    const { rows } = await database.store.pool.query(
      `select class, bytes, reason, plant, type, recorded::text, "offset"::int as offset
       from set_aside order by "offset"`,
    )
    expect(rows.map((row) => row.class)).toEqual(bad.map(([sort]) => sort))
    for (const [i, row] of rows.entries()) {
      expect(Buffer.compare(row.bytes, bad[i]![1])).toBe(0)
      expect(row.offset).toBe(2 * i)
      expect(row.reason).toMatch(/\w.*\.$/)
    }
    expect(rows[4]).toMatchObject({
      ...{
        plant: 'north',
        type: 'melt.heat-tapped.v1',
        recorded: String(Date.UTC(2026, 2, 2, 12, 1)),
      },
      reason: expect.stringContaining('kg'),
    })
    expect(rows[0]).toMatchObject({ plant: null, type: null, recorded: '7' })
    expect(await counted(database.store)).toMatchObject({ statements: 9, setAside: 9, read: 18 })
  })

  describe('when the database fails', () => {
    it('writes nothing, says so once, and goes on when it works again', async () => {
      await using house = await openLog()
      await house.say(shift(3))
      const told: string[] = []
      let failures = 4
      const failing = Object.create(database.store.pool, {
        query: {
          value: (...query: [string]) =>
            failures-- > 0
              ? Promise.reject(new Error('the server is away'))
              : database.store.pool.query(...query),
        },
      })
      await takeAll(
        house.log,
        { ...database.store, pool: failing },
        { tell: (line) => told.push(line) },
      )
      expect(told).toEqual([
        'The database takes nothing in (the server is away). Trying again.',
        'The database takes reports in again.',
      ])
      expect(await counted(database.store)).toMatchObject({ statements: 18, read: 18 })
    })
  })

  describe('a flood of bad events', () => {
    let clock = 0
    const told: string[] = []
    const reader = (next = 0n) => {
      told.length = 0
      return genealogy({
        store: database.store,
        log: { spans: async () => [{ topic: 'melt', partition: 0, first: 0n, next }] },
        now: () => clock,
        tell: (line) => told.push(line),
      })
    }
    const good = (count: number) =>
      values(Array.from({ length: count }, (_, i) => tap(`good-${i}`)))
    const bad = (count: number) =>
      values(Array.from({ length: count }, (_, i) => tap(`bad-${i}`, { kg: -1 })))

    it('stops the partition by name before any of it is written', async () => {
      const genealogist = reader()
      await genealogist.take(records([...good(20), ...bad(60)]))
      const flood = records([...bad(60)], 80)
      await expect(genealogist.take(flood)).rejects.toMatchObject({ code: 'FLOOD_OF_BAD_EVENTS' })
      await expect(genealogist.take(flood)).rejects.toMatchObject({ code: 'FLOOD_OF_BAD_EVENTS' })
      expect(told).toEqual([
        expect.stringMatching(
          /^FLOOD_OF_BAD_EVENTS: 120 of the last 140 events of melt\/0 are bad/,
        ),
      ])
      expect(await counted(database.store)).toMatchObject({ setAside: 60, read: 80 })
      // Another partition is not concerned; a new start takes the rest in, once its cause is put right.
      await genealogist.take(records(good(3)).map((record) => ({ ...record, partition: 1 })))
      await reader().take(flood)
      expect(await counted(database.store)).toMatchObject({ setAside: 120, read: 143 })
    })

    it('is none when they are few among many, or spread over minutes, or of types not known yet', async () => {
      const genealogist = reader()
      await genealogist.take(records([...good(2_200), ...bad(110)]))
      clock += 60_001
      await genealogist.take(records(bad(90), 2_310))
      clock += 60_001
      await genealogist.take(records(bad(90), 2_400))
      const unknown = Array.from({ length: 200 }, (_, i) => ({
        ...{ ...tap(`later-${i}`), type: 'melt.heat-sung.v1' },
      }))
      await genealogist.take(records(values(unknown), 2_490))
      expect(told).toEqual([])
      expect(await counted(database.store)).toMatchObject({ statements: 2_200, setAside: 490 })
    })

    it('counts a batch once, however often it is delivered', async () => {
      let away = true
      const store = {
        ...database.store,
        pool: Object.create(database.store.pool, {
          query: {
            value: (...query: [string]) =>
              away ? Promise.reject(new Error('away')) : database.store.pool.query(...query),
          },
        }),
      }
      const genealogist = genealogy({
        ...{ store, log: { spans: async () => [] }, now: () => clock, tell: () => undefined },
      })
      const batch = records([...bad(40), ...good(5)])
      for (let i = 0; i < 5; i++) await expect(genealogist.take(batch)).rejects.toThrow('away')
      away = false
      await genealogist.take(batch)
      expect(await counted(database.store)).toMatchObject({ setAside: 40, read: 45 })
    })

    it('is none when an old log is read again from its beginning, until it is level', async () => {
      const genealogist = reader(300n)
      expect(await genealogist.from('melt', 0)).toBe(0n)
      await genealogist.take(records(bad(300)))
      expect(await counted(database.store)).toMatchObject({ setAside: 300 })
      await expect(genealogist.take(records(bad(150), 300))).rejects.toThrow('FLOOD_OF_BAD_EVENTS')
    })
  })

  it('makes an embedded database of another version anew, and refuses a shared one', async () => {
    await using house = await openLog()
    await house.say(shift(5))
    await takeAll(house.log, database.store)
    const before = await counted(database.store)
    await database.store.pool.query(`update position set projection = 'an older version'`)
    await expect(
      genealogy({
        log: house.log,
        store: database.store,
        now: () => 0,
        tell: () => undefined,
      }).take(records(values([tap('next')]), Number(before.read))),
    ).rejects.toThrow(/STORE_|another version|missing/)
    const told: string[] = []
    const preparing = prepareRecord(database.store, (line) => told.push(line))
    if (!database.store.embedded) {
      await expect(preparing).rejects.toThrow('run "npm run rebuild"')
      expect(await counted(database.store)).toEqual(before)
      return
    }
    await preparing
    await house.restart()
    expect(told).toEqual([expect.stringContaining('made anew from the log')])
    await takeAll(house.log, database.store)
    expect(await counted(database.store)).toEqual(before)
    await prepareRecord(database.store, (line) => told.push(line))
    expect(told).toHaveLength(1)
  })
})
