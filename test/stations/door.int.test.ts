import { beforeEach, describe, expect, test } from 'vitest'
import type { Entry, Log } from '../../services/log/log.ts'
import { LogError } from '../../services/log/log-error.ts'
import { type Door, DoorClosedError, openDoor } from '../../services/stations/door.ts'
import { eventsIn, newFolder, openLog } from './folders.ts'
import { BAD_EVENTS, decision, tap, tapData } from './said.ts'

let folder: string
let log: Log
let door: Door
let clock: number
const now = () => clock

beforeEach(async () => {
  clock = Date.parse('2026-03-02T13:00:00Z')
  folder = await newFolder()
  log = await openLog(folder)
  door = await openDoor({ log, now })
  return () => log.close()
})

const outcomes = async (...said: Parameters<Door['take']>[0]) =>
  (await door.take(said)).map(({ outcome }) => outcome)

describe('bad input', () => {
  for (const { name, text, class: refusal, field, sentence } of BAD_EVENTS)
    test(`${name} is refused by field and fix, and the good events beside it go in`, async () => {
      const [before, refused, after] = await door.take([tap(1), Buffer.from(text), tap(2)])
      expect(before!.outcome).toBe('accepted')
      expect(after!.outcome).toBe('accepted')
      expect(refused).toMatchObject({ outcome: 'refused', class: refusal })
      expect(refused!.problems[0]).toEqual({ field, sentence: expect.stringMatching(sentence) })
      expect((await eventsIn(log)).map(({ id }) => id).sort()).toEqual(['tap-1', 'tap-2'])
    })

  test('every problem of an event is named, not only the first', async () => {
    const data = tapData(1, { kg: -1, celcius: 3, tap: 0 })
    const [receipt] = await door.take([tap(1, { data })])
    expect(receipt!.problems.map(({ field }) => field).sort()).toEqual(['celcius', 'kg', 'tap'])
  })

  test('an event of more than 64 KiB is refused, as bytes and as JSON already read', async () => {
    const long = tap(1, { data: tapData(1, { heat: 'x'.repeat(70_000) }) })
    for (const said of [long, Buffer.from(JSON.stringify(long))]) {
      const [receipt] = await door.take([said])
      expect(receipt).toMatchObject({ outcome: 'refused', class: 'OVERSIZE' })
    }
  })

  test('nesting deeper than any stack is refused and does no harm', async () => {
    const deep = JSON.parse('['.repeat(200_000) + ']'.repeat(200_000))
    expect(await outcomes(deep, tap(1, { data: deep }), tap(2, { extra: deep }), tap(3))).toEqual([
      'refused',
      'refused',
      'refused',
      'accepted',
    ])
  })

  test('bytes that are not text are refused', async () => {
    const bytes = Buffer.from(Array.from({ length: 300 }, (_, i) => (i * 89) % 256))
    const [receipt] = await door.take([bytes])
    expect(receipt).toMatchObject({ outcome: 'refused', class: 'UNDECODABLE' })
  })

  test('things never reported are no reason to refuse', async () => {
    expect(await outcomes(tap(1, { data: tapData(1, { heat: 'never-reported' }) }))).toEqual([
      'accepted',
    ])
  })
})

describe('what goes into the log', () => {
  test('the event stands as it was entered, under its station and its source', async () => {
    const data = tapData(1, { kg: { value: 1790, unit: 'LBR' } })
    await door.take([tap(1, { data, partitionkey: 'mine', recordedtime: '1999-01-01T00:00:00Z' })])
    const [event] = await eventsIn(log)
    expect(event).toMatchObject({
      topic: 'melt',
      key: 'https://foundry.example/plant/main/melt/furnace-1',
      partitionkey: 'https://foundry.example/plant/main/melt/furnace-1',
      time: '2026-03-02T06:40:00-06:00',
      recordedtime: '2026-03-02T13:00:00.000Z',
      data: { kg: { value: 1790, unit: 'LBR' } },
    })
  })

  const stampsOf = async () => {
    const stamps = new Map((await eventsIn(log)).map((event) => [event.id, event.recordedtime]))
    return (...ids: string[]) => ids.map((id) => stamps.get(id)!.slice(11))
  }

  test('recordedtime is that of the clock however much comes at once, and never falls', async () => {
    await door.take([tap(1), tap(2), tap(3)])
    clock -= 3_600_000
    await door.take([tap(4)])
    clock += 7_200_000
    await door.take([tap(5)])
    const stamps = await stampsOf()
    expect(stamps('tap-1', 'tap-2', 'tap-3', 'tap-4', 'tap-5')).toEqual([
      ...Array(4).fill('13:00:00.000Z'),
      '14:00:00.000Z',
    ])
  })

  test('recordedtime of what corrects, voids or says another thing under a used id is later', async () => {
    const corrected = { source: tap(1).source!, supersedes: 'tap-1' }
    await door.take([
      tap(1),
      tap(2, corrected),
      tap(3, corrected),
      tap(4),
      tap(2, { source: tap(1).source! }),
    ])
    await door.take([decision(), tap(5)], { decisions: true })
    const events = await eventsIn(log)
    const stamps = await stampsOf()
    expect(stamps('tap-1', 'tap-3', 'tap-4', 'void-1', 'tap-5')).toEqual([
      '13:00:00.000Z',
      '13:00:00.002Z',
      '13:00:00.002Z',
      '13:00:00.004Z',
      '13:00:00.004Z',
    ])
    expect(events.filter(({ id }) => id === 'tap-2')).toHaveLength(2)
  })

  test('recordedtime does not fall over a restart', async () => {
    await door.take([tap(1), tap(2, { source: tap(1).source!, supersedes: 'tap-1' })])
    const again = await openDoor({ log, now })
    const [receipt] = await again.take([tap(4)])
    expect(receipt!.recorded).toBe(clock + 1)
  })

  test('what is unusual is flagged and goes in', async () => {
    const data = tapData(1, { celsius: 900 })
    const [receipt] = await door.take([tap(1, { data })])
    expect(receipt).toMatchObject({
      outcome: 'accepted',
      flags: [expect.stringContaining('celsius')],
    })
  })

  test('CloudEvents binary mode goes in as the same event', async () => {
    const { data, ...attributes } = tap(1)
    const headers = Object.fromEntries(
      Object.entries(attributes).map(([name, value]) => [`ce-${name}`, String(value)]),
    )
    const body = Buffer.from(JSON.stringify(data))
    const binary = { headers: { ...headers, 'content-type': 'application/json' }, body }
    expect(await outcomes(binary, tap(1))).toEqual(['accepted', 'duplicate'])
  })
})

describe('repeats', () => {
  test('the same key with the same content is taken in once, also within one batch', async () => {
    expect(await outcomes(tap(1), tap(1), tap(2))).toEqual(['accepted', 'duplicate', 'accepted'])
    expect(await outcomes(tap(2))).toEqual(['duplicate'])
    expect(await eventsIn(log)).toHaveLength(2)
  })

  test('what is not content does not make it another event', async () => {
    const traceparent = '00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01'
    expect(await outcomes(tap(1), tap(1, { traceparent }))).toEqual(['accepted', 'duplicate'])
  })

  test('the same key with other content is kept, flagged, and then known too', async () => {
    const other = tap(1, { data: tapData(1, { kg: 400 }) })
    const [, reused] = await door.take([tap(1), other])
    expect(reused).toMatchObject({ outcome: 'accepted', flags: ['id-reused'] })
    expect(await outcomes(tap(1), other)).toEqual(['duplicate', 'duplicate'])
    expect(await eventsIn(log)).toHaveLength(2)
  })

  test('a door opened anew knows what was taken in before', async () => {
    await door.take([tap(1), tap(2)])
    await log.close()
    log = await openLog(folder)
    door = await openDoor({ log, now })
    expect(await outcomes(tap(1), tap(2), tap(3))).toEqual(['duplicate', 'duplicate', 'accepted'])
  })

  test('a repeat is answered no sooner than what it repeats is on disk', async () => {
    const gated = new GatedLog()
    door = await openDoor({ log: gated, now })
    const answered: string[] = []
    const first = door.take([tap(1)]).then(() => answered.push('first'))
    const repeat = door.take([tap(1)]).then(() => answered.push('repeat'))
    await door.take([])
    expect(answered).toEqual([])
    gated.succeed()
    await Promise.all([first, repeat])
    expect(answered.sort()).toEqual(['first', 'repeat'])
  })

  test('a repeat of what could not be written fails with it, and is no repeat afterwards', async () => {
    const gated = new GatedLog()
    door = await openDoor({ log: gated, now })
    const both = Promise.allSettled([door.take([tap(1)]), door.take([tap(1)])])
    gated.fail()
    expect((await both).map(({ status }) => status)).toEqual(['rejected', 'rejected'])
    expect(door.trouble).toContain('no room')
    const again = door.take([tap(1)])
    gated.succeed()
    expect((await again)[0]!.outcome).toBe('accepted')
    expect(door.trouble).toBeUndefined()
  })
})

test('decisions come in only where they may', async () => {
  expect(await outcomes(decision())).toEqual(['refused'])
  const [receipt] = await door.take([decision()], { decisions: true })
  expect(receipt).toMatchObject({ outcome: 'accepted', place: { topic: 'quality' } })
})

test('a closing door finishes what is under way and takes nothing more', async () => {
  const gated = new GatedLog()
  door = await openDoor({ log: gated, now })
  const underWay = door.take([tap(1)])
  const closed = door.close()
  await expect(door.take([tap(2)])).rejects.toThrow(DoorClosedError)
  gated.succeed()
  await closed
  expect((await underWay)[0]!.outcome).toBe('accepted')
})

/** A log whose appends wait until the test says how they end. */
class GatedLog implements Log {
  readonly topics = []
  readonly #waiting: { done: () => void; failed: (reason: Error) => void }[] = []

  async append(topic: string, entries: readonly Entry[]) {
    await new Promise<void>((done, failed) => this.#waiting.push({ done, failed }))
    return entries.map((_, i) => ({ topic, partition: 0, offset: BigInt(i) }))
  }

  succeed(): void {
    for (const { done } of this.#waiting.splice(0)) done()
  }

  fail(): void {
    for (const { failed } of this.#waiting.splice(0))
      failed(new LogError('LOG_FAILED', 'There is no room left.'))
  }

  async spans() {
    return []
  }
  async read() {
    return []
  }
  async follow(): Promise<never> {
    throw new Error('nobody follows this log')
  }
  async close() {}
}
