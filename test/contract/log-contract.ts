// What every log must keep, whatever it is made of: a suite as a function of the implementation.
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest'
import type { Entry, Log, LogRecord, PartitionName, Reader } from '../../services/log/log.ts'
import type { LogError } from '../../services/log/log-error.ts'

export interface LogFixture {
  topics: readonly string[]
  /** Opens the log; again after close, what was appended is still there. */
  open(): Promise<Log>
  drop(): Promise<void>
}

export function logContract(name: string, makeFixture: () => Promise<LogFixture>): void {
  describe(`the log contract, kept by ${name}`, () => {
    let fixture: LogFixture
    let log: Log
    let topic: string

    beforeEach(async () => {
      fixture = await makeFixture()
      log = await fixture.open()
      topic = fixture.topics[0]!
    })
    afterEach(async () => {
      await log.close()
      await fixture.drop()
    })

    test('an empty log has empty spans and nothing to read', async () => {
      const spans = await log.spans()
      expect(new Set(spans.map((span) => span.topic))).toEqual(new Set(fixture.topics))
      expect(spans.every(({ first, next }) => first === next)).toBe(true)
      for (const span of spans)
        expect(await log.read(span.topic, span.partition, span.first, 10)).toEqual([])
    })

    test('a record is found where append says it stands', async () => {
      const entries = someEntries(30, 7)
      const places = await log.append(topic, entries)
      expect(places).toHaveLength(30)
      for (const [i, place] of places.entries()) {
        const [record] = await log.read(place.topic, place.partition, place.offset, 1)
        expect(record).toMatchObject({ ...place, key: entries[i]!.key })
        expect(text(record!)).toBe(new TextDecoder().decode(entries[i]!.value))
      }
    })

    test('one key stays in one partition, in the order of its appends, however many are under way', async () => {
      const entries = someEntries(600, 12)
      await Promise.all(entries.map((entry) => log.append(topic, [entry])))
      const records = await readAll(log)
      expect(records).toHaveLength(600)
      for (const [key, own] of Map.groupBy(records, (record) => record.key)) {
        expect(new Set(own.map(({ partition }) => partition)).size).toBe(1)
        const said = entries.filter((entry) => entry.key === key).map(({ value }) => decode(value))
        expect(own.map(text)).toEqual(said)
      }
    })

    test('offsets of a partition have no gap and no double', async () => {
      for (let i = 0; i < 20; i++) await log.append(topic, someEntries(10, 5))
      for (const [, own] of Map.groupBy(await readAll(log), ({ partition }) => partition))
        expect(own.map(({ offset }) => offset - own[0]!.offset)).toEqual(
          own.map((_, i) => BigInt(i)),
        )
    })

    test('spans say where the next record will stand', async () => {
      await log.append(topic, someEntries(25, 4))
      const before = await log.spans()
      const [place] = await log.append(topic, [entry('a key', 'the next one')])
      const span = before.find(
        (each) => each.topic === topic && each.partition === place!.partition,
      )
      expect(place!.offset).toBe(span!.next)
    })

    test('reading before the first record is refused by name', async () => {
      await log.append(topic, [entry('a', 'one')])
      await expect(log.read(topic, 0, -1n, 1)).rejects.toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
    })

    test('a record of half a megabyte comes back byte for byte', async () => {
      const value = new Uint8Array(500_000).map((_, i) => (i * 31) % 256)
      const [place] = await log.append(topic, [{ key: 'large', value }])
      const [record] = await log.read(topic, place!.partition, place!.offset, 1)
      expect(Buffer.compare(record!.value, value)).toBe(0)
    })

    test('ten thousand records are all taken, once each and in order', async () => {
      for (let i = 0; i < 100; i++) await log.append(topic, numbered(i * 100, 100))
      const reader = new Noting()
      const following = await log.follow(reader)
      await following.settled()
      expectOnceEach(reader.records, 10_000)
      await following.stop()
    })

    test('what is appended to any topic while following is taken without asking again', async () => {
      const reader = new Noting()
      const following = await log.follow(reader)
      await following.settled()
      for (const each of fixture.topics) {
        await log.append(each, [entry('a', each)])
        await following.settled()
        expect(reader.records.some((record) => text(record) === each)).toBe(true)
      }
      await following.stop()
    })

    test('a reader resumes where it says it was, with no gap and no double', async () => {
      await log.append(topic, numbered(0, 300))
      const positions = new Map<string, bigint>()
      const first = new Noting({ positions })
      const following = await log.follow(first)
      await following.settled()
      await following.stop()
      await log.append(topic, numbered(300, 300))
      const second = new Noting({ positions })
      const resumed = await log.follow(second)
      await resumed.settled()
      await resumed.stop()
      expectOnceEach(first.records, 300)
      expectOnceEach([...first.records, ...second.records], 600)
    })

    test('readers of different groups each get everything', async () => {
      await log.append(topic, numbered(0, 200))
      const readers = [new Noting(), new Noting(), new Noting()]
      const followings = await Promise.all(readers.map((reader) => log.follow(reader)))
      for (const following of followings) await following.settled()
      for (const reader of readers) expectOnceEach(reader.records, 200)
      for (const following of followings) await following.stop()
    })

    test('readers of one group share the partitions, and who leaves hands them on', async () => {
      const positions = new Map<string, bigint>()
      const group = newGroup()
      const [left, right] = [new Noting({ positions, group }), new Noting({ positions, group })]
      const one = await log.follow(left)
      await log.append(topic, numbered(0, 200))
      await one.settled()
      const two = await log.follow(right)
      await log.append(topic, numbered(200, 400))
      await two.settled()
      expect(right.records.length).toBeGreaterThan(0)
      await one.stop()
      await log.append(topic, numbered(600, 200))
      await two.settled()
      await two.stop()
      expectOnceEach([...left.records, ...right.records], 800)
    })

    test('a partition changes hands only between batches, while readers come and go', async () => {
      const positions = new Map<string, bigint>()
      const group = newGroup()
      const inHand = new Set<string>()
      const clashes: string[] = []
      const during = async (batch: readonly LogRecord[]) => {
        const place = `${batch[0]!.topic}/${batch[0]!.partition}`
        if (inHand.has(place)) clashes.push(place)
        inHand.add(place)
        for (let i = 0; i < 5; i++) await new Promise(setImmediate)
        inHand.delete(place)
      }
      const readers = Array.from({ length: 4 }, () => new Noting({ positions, group, during }))
      const followings = []
      for (const [i, reader] of readers.entries()) {
        const appending = Promise.all(
          Array.from({ length: 20 }, (_, n) => log.append(topic, numbered(i * 400 + n * 20, 20))),
        )
        followings.push(await log.follow(reader))
        await appending
      }
      for (const following of followings.slice(1)) await following.stop()
      await followings[0]!.settled()
      await followings[0]!.stop()
      expect(clashes).toEqual([])
      const taken = readers.flatMap(({ records }) => records)
      expectOnceEach(
        taken.toSorted((a, b) => Number(a.offset - b.offset)),
        1_600,
      )
    })

    test('settled waits for the batch in hand', async () => {
      const gate = new Gate()
      const reader = new Noting({ during: () => gate.passed })
      const following = await log.follow(reader)
      await log.append(topic, numbered(0, 10))
      let settled = false
      const settling = following.settled().then(() => {
        settled = true
      })
      await reader.begun()
      expect(settled).toBe(false)
      gate.open()
      await settling
      expectOnceEach(reader.records, 10)
      await following.stop()
    })

    test('a reader is given one batch at a time', async () => {
      let under = 0
      let most = 0
      const reader = new Noting({
        during: async () => {
          most = Math.max(most, ++under)
          await new Promise(setImmediate)
          under--
        },
      })
      for (const each of fixture.topics) await log.append(each, someEntries(50, 9))
      const following = await log.follow(reader)
      await following.settled()
      await following.stop()
      expect(most).toBe(1)
    })

    test('a batch is of one partition and in order', async () => {
      for (const each of fixture.topics) await log.append(each, someEntries(60, 9))
      const reader = new Noting()
      const following = await log.follow(reader)
      await following.settled()
      await following.stop()
      for (const batch of reader.batches)
        for (const [i, { topic, partition, offset }] of batch.entries())
          expect({ topic, partition, offset }).toEqual({
            topic: batch[0]!.topic,
            partition: batch[0]!.partition,
            offset: batch[0]!.offset + BigInt(i),
          })
    })

    test('stop finishes the batch in hand and takes no other', async () => {
      await log.append(topic, [entry('a', 'first')])
      const gate = new Gate()
      const reader = new Noting({ during: () => gate.passed })
      const following = await log.follow(reader)
      await reader.begun()
      await log.append(topic, [entry('a', 'second')])
      const stopped = following.stop()
      gate.open()
      await stopped
      expect(reader.records.map(text)).toEqual(['first'])
    })

    test('when take throws, the same batch comes again and nothing is passed over', async () => {
      await log.append(topic, numbered(0, 50))
      let left = 3
      const seen: string[] = []
      const reader = new Noting({
        during: async (batch) => {
          seen.push(batch.map(text).join())
          if (seen.at(-1) === seen[0] && left-- > 0) throw new Error('the database is away')
        },
      })
      const following = await log.follow(reader)
      await following.settled()
      await following.stop()
      expect(seen.filter((words) => words === seen[0])).toHaveLength(4)
      expectOnceEach(reader.records, 50)
    })

    test('a reader that always throws can be stopped', async () => {
      await log.append(topic, numbered(0, 5))
      const reader = new Noting({ during: () => Promise.reject(new Error('never')) })
      const following = await log.follow(reader)
      await reader.begun()
      await following.stop()
      expect(reader.records).toEqual([])
    })

    test('asking to settle after the stop is refused, not left waiting', async () => {
      const following = await log.follow(new Noting())
      await following.settled()
      await following.stop()
      await expect(following.settled()).rejects.toMatchObject({ code: 'LOG_CLOSED' })
      await following.ended
    })

    test('after a batch was not taken the reader is asked anew where it goes on', async () => {
      await log.append(topic, numbered(0, 50))
      const positions = new Map<string, bigint>()
      const reader = new Noting({ positions })
      const following = await log.follow(reader)
      await following.settled()
      // As a database put back to an earlier state, which then refuses the batch behind the gap.
      const [before] = reader.batches
      const { partition, offset } = before![0]!
      positions.set(`${topic}/${partition}`, offset)
      reader.expect(`${topic}/${partition}`, offset)
      await log.append(topic, [{ ...numbered(50, 1)[0]!, key: before![0]!.key }])
      await following.settled()
      const taken = reader.batches.slice(1).flat()
      expect(taken.filter((each) => each.partition === partition).map(text)).toEqual([
        ...reader.batches.filter(([each]) => each!.partition === partition)[0]!.map(text),
        '50',
      ])
      await following.stop()
    })

    test.for([
      ['asks for what is gone', { start: -5n }, 'LOG_OUT_OF_RANGE'],
      ['is ahead of the log', { start: 1_000n }, 'LOG_OUT_OF_RANGE'],
      ['does not recognize what it took', { start: 1n, recognizes: false }, 'LOG_DIVERGED'],
    ] as const)(
      'a partition whose reader %s stops by name, and the others go on',
      async ([, how, code]) => {
        const places = await log.append(topic, numbered(0, 60))
        const { partition } = places[0]!
        const positions = new Map([[`${topic}/${partition}`, how.start]])
        const reader = new Noting({ positions, recognizes: !('recognizes' in how) })
        const following = await log.follow(reader)
        await expect(following.settled()).rejects.toMatchObject({ code })
        await reader.reached(places.filter((place) => place.partition !== partition).length)
        expect(reader.records.some((record) => record.partition === partition)).toBe(false)
        expect(reader.alarms).toEqual([`${topic}/${partition} ${code}`])
        await following.stop()
      },
    )

    test('opened anew, the log holds what it held and goes on counting', async () => {
      await log.append(topic, someEntries(120, 8))
      const [before, spans] = [await readAll(log), await log.spans()]
      await log.close()
      log = await fixture.open()
      expect(await log.spans()).toEqual(spans)
      expect((await readAll(log)).map(placed)).toEqual(before.map(placed))
      const [place] = await log.append(topic, [entry('a', 'after')])
      const span = spans.find((each) => each.topic === topic && each.partition === place!.partition)
      expect(place!.offset).toBe(span!.next)
    })

    test('a closed log takes nothing in and its followings are over', async () => {
      const following = await log.follow(new Noting())
      await log.close()
      await following.ended
      await expect(log.append(topic, [entry('a', 'late')])).rejects.toMatchObject({
        code: 'LOG_CLOSED',
      })
      log = await fixture.open()
    })
  })
}

/** Notes what it is given; `positions` is where it keeps how far it came, as a database would. */
class Noting implements Reader {
  readonly group: string
  readonly batches: (readonly LogRecord[])[] = []
  readonly #positions: Map<string, bigint>
  readonly #during: (batch: readonly LogRecord[]) => Promise<void>
  readonly #begun = new Gate()
  readonly #recognizes: boolean
  /** Where a batch has to begin that is taken, by partition. */
  readonly #expected = new Map<string, bigint>()
  readonly alarms: string[] = []

  constructor(
    options: {
      group?: string
      positions?: Map<string, bigint>
      recognizes?: boolean
      during?: (batch: readonly LogRecord[]) => Promise<void>
    } = {},
  ) {
    this.group = options.group ?? newGroup()
    this.#positions = options.positions ?? new Map()
    this.#recognizes = options.recognizes ?? true
    this.#during = options.during ?? (async () => undefined)
  }

  get records(): LogRecord[] {
    return this.batches.flat()
  }

  async begun(): Promise<void> {
    await this.#begun.passed
  }

  async from(topic: string, partition: number): Promise<bigint> {
    return this.#positions.get(`${topic}/${partition}`) ?? 0n
  }

  async take(batch: readonly LogRecord[]): Promise<void> {
    this.#begun.open()
    await this.#during(batch)
    const { topic, partition, offset } = batch.at(-1)!
    const place = `${topic}/${partition}`
    if (batch[0]!.offset > (this.#expected.get(place) ?? batch[0]!.offset)) throw new Error('a gap')
    this.#expected.delete(place)
    this.batches.push(batch)
    this.#positions.set(place, offset + 1n)
  }

  async recognizes(): Promise<boolean> {
    return this.#recognizes
  }

  stopped({ topic, partition }: PartitionName, { code }: LogError): void {
    this.alarms.push(`${topic}/${partition} ${code}`)
  }

  /** From now on it does not take what begins behind this place. */
  expect(place: string, offset: bigint): void {
    this.#expected.set(place, offset)
  }

  async reached(count: number): Promise<void> {
    await vi.waitUntil(() => this.records.length >= count, 10_000)
  }
}

class Gate {
  open!: () => void
  readonly passed = new Promise<void>((open) => {
    this.open = open
  })
}

let groups = 0
const newGroup = () => `group-${process.pid}-${++groups}`

const decode = (value: Uint8Array) => new TextDecoder().decode(value)
const text = (record: LogRecord) => decode(record.value)
const placed = (record: LogRecord) => ({ ...record, value: text(record) })
const entry = (key: string, value: string): Entry => ({
  key,
  value: new TextEncoder().encode(value),
})

/** Entries of so many keys in turn, each with its number. */
function someEntries(count: number, keys: number): Entry[] {
  return Array.from({ length: count }, (_, i) => entry(`machine-${i % keys}`, `record ${i}`))
}

function numbered(from: number, count: number): Entry[] {
  return Array.from({ length: count }, (_, i) =>
    entry(`machine-${(from + i) % 13}`, String(from + i)),
  )
}

/** Of numbered records: each once, and those of one key rising. */
function expectOnceEach(records: readonly LogRecord[], count: number): void {
  const numbers = records.map((record) => Number(text(record)))
  expect(numbers.toSorted((a, b) => a - b)).toEqual(Array.from({ length: count }, (_, i) => i))
  for (const [, own] of Map.groupBy(records, (record) => record.key)) {
    const said = own.map((record) => Number(text(record)))
    expect(said).toEqual(said.toSorted((a, b) => a - b))
  }
}

async function readAll(log: Log): Promise<LogRecord[]> {
  const records: LogRecord[] = []
  for (const { topic, partition, first, next } of await log.spans())
    for (let at = first; at < next; ) {
      const more = await log.read(topic, partition, at, 100)
      expect(more.length).toBeGreaterThan(0)
      records.push(...more)
      at += BigInt(more.length)
    }
  return records
}
