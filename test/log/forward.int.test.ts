import { spawn } from 'node:child_process'
import { readdir, rm, stat, truncate } from 'node:fs/promises'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { describe, expect, onTestFinished, test, vi } from 'vitest'
import {
  type Forwarding,
  type ForwardParts,
  forward,
  type Target,
} from '../../services/log/forward.ts'
import type { Entry, Log, LogRecord } from '../../services/log/log.ts'
import { LogError } from '../../services/log/log-error.ts'
import { openSegmentLog, type SegmentLog } from '../../services/log/segment/segment.ts'
import { newFolder } from '../stations/folders.ts'

const TOPICS = ['melt', 'pour']

async function openSpool(folder: string, partitions = 2): Promise<SegmentLog> {
  const log = await openSegmentLog({ folder, topics: TOPICS, partitions })
  onTestFinished(() => log.close())
  return log
}

/** The other log as a list, and whatever keeps it from taking anything in. */
class Other implements Target {
  readonly cluster?: string
  readonly entries: { topic: string; key: string; text: string }[] = []
  refuse: (topic: string) => Error | Promise<never> | undefined = () => undefined
  tries = 0

  constructor(cluster?: string) {
    if (cluster !== undefined) this.cluster = cluster
  }

  async append(topic: string, entries: readonly Entry[]): Promise<[]> {
    this.tries++
    const reason = await this.refuse(topic)
    if (reason) throw reason
    for (const { key, value } of entries)
      this.entries.push({ topic, key, text: Buffer.from(value).toString() })
    return []
  }

  async close(): Promise<void> {}

  texts(topic?: string): string[] {
    return this.entries.filter((each) => !topic || each.topic === topic).map(({ text }) => text)
  }
}

async function start(
  folder: string,
  spool: SegmentLog,
  to: Target,
  more: Partial<ForwardParts> = {},
): Promise<Forwarding> {
  const forwarding = await forward({
    ...{ spool, folder, open: async () => to, tell: () => undefined },
    pauses: { first: 1, longest: 5, refused: 5, stop: 50 },
    ...more,
  })
  onTestFinished(() => forwarding.stop())
  return forwarding
}

const numbered = (from: number, count: number): Entry[] =>
  Array.from({ length: count }, (_, i) => ({
    key: `machine-${(from + i) % 5}`,
    value: Buffer.from(String(from + i)),
  }))

const away = () => new LogError('LOG_AWAY', 'The brokers gave no answer.')

async function allIn(log: Log): Promise<LogRecord[]> {
  const all: LogRecord[] = []
  for (const { topic, partition, first, next } of await log.spans())
    for (let at = first; at < next; ) {
      const records = await log.read(topic, partition, at, 1_000)
      all.push(...records)
      at += BigInt(records.length)
    }
  return all
}

describe('A spool that is sent on', () => {
  test('arrives whole, each key in its order, in a log of other partitions', async () => {
    const folder = await newFolder()
    const spool = await openSpool(folder)
    await spool.append('melt', numbered(0, 700))
    const other = await openSpool(await newFolder(), 5)
    const forwarding = await start(folder, spool, other)
    await spool.append('pour', numbered(1_000, 300))
    await spool.append('melt', numbered(700, 300))
    await forwarding.settled()
    const arrived = await allIn(other)
    expect(arrived).toHaveLength(1_300)
    expect(forwarding.gone).toBe(1_300)
    for (const records of Map.groupBy(arrived, ({ topic, key }) => topic + key).values()) {
      const said = records.map(({ value }) => Number(Buffer.from(value).toString()))
      expect(said).toEqual(said.toSorted((a, b) => a - b))
    }
    expect(await forwarding.waiting()).toEqual(
      new Map([
        ['melt', 0],
        ['pour', 0],
      ]),
    )
  })

  test('goes on where it stopped', async () => {
    const folder = await newFolder()
    const spool = await openSpool(folder)
    const other = new Other('one')
    await spool.append('melt', numbered(0, 50))
    const first = await start(folder, spool, other)
    await first.settled()
    await first.stop()
    await spool.append('melt', numbered(50, 50))
    await (await start(folder, spool, other)).settled()
    expect(
      other
        .texts()
        .map(Number)
        .toSorted((a, b) => a - b),
    ).toEqual(Array.from({ length: 100 }, (_, i) => i))
  })

  test('goes under the names the other log has for its topics', async () => {
    const folder = await newFolder()
    const spool = await openSpool(folder)
    const other = new Other()
    await spool.append('melt', numbered(0, 1))
    await (await start(folder, spool, other, { topic: (own) => `foundry.${own}` })).settled()
    expect(other.entries.map(({ topic }) => topic)).toEqual(['foundry.melt'])
  })

  test('goes in parts that a broker takes', async () => {
    const folder = await newFolder()
    const spool = await openSpool(folder)
    const other = new Other()
    const sizes: number[] = []
    const append = other.append.bind(other)
    other.append = (topic, entries) => {
      sizes.push(entries.reduce((sum, { value }) => sum + value.length, 0))
      return append(topic, entries)
    }
    const value = Buffer.alloc(200_000, 'x')
    await spool.append(
      'melt',
      Array.from({ length: 9 }, () => ({ key: 'k', value })),
    )
    await spool.append('melt', [{ key: 'k', value: Buffer.alloc(700_000, 'y') }])
    await (await start(folder, spool, other)).settled()
    expect(other.entries).toHaveLength(10)
    expect(sizes.every((size) => size <= 500_000 || size === 700_000)).toBe(true)
  })
})

describe('While the other log is away', () => {
  test('all is taken in, nothing is lost, and it is told once', async () => {
    const folder = await newFolder()
    const spool = await openSpool(folder)
    const other = new Other()
    const told: string[] = []
    let opened = 0
    const open = async () => {
      if (++opened < 4) throw away()
      return other
    }
    const forwarding = await start(folder, spool, other, { open, tell: (line) => told.push(line) })
    await spool.append('melt', numbered(0, 400))
    await vi.waitUntil(() => opened === 4 && forwarding.away === undefined)
    await forwarding.settled()
    other.refuse = away
    for (let i = 0; i < 20; i++) await spool.append(TOPICS[i % 2]!, numbered(400 + 10 * i, 10))
    await vi.waitUntil(() => other.tries > 20)
    expect(forwarding.away).toContain('no answer')
    const waiting = await forwarding.waiting()
    expect([...waiting.values()]).toEqual([100, 100])
    other.refuse = () => undefined
    await forwarding.settled()
    expect(forwarding.away).toBeUndefined()
    expect(new Set(other.texts()).size).toBe(600)
    expect(other.entries).toHaveLength(600)
    expect(told).toHaveLength(4)
    expect(told.filter((line) => line.includes('kept on their disk'))).toHaveLength(2)
    expect(told.at(-1)).toBe('The reports get on again.')
  })

  test('it can be stopped, even when no answer comes', async () => {
    const folder = await newFolder()
    const spool = await openSpool(folder)
    const other = new Other()
    other.refuse = () => new Promise(() => undefined)
    const forwarding = await start(folder, spool, other)
    await spool.append('melt', numbered(0, 1))
    await vi.waitUntil(() => other.tries === 1)
    await forwarding.stop()
    // What was under way goes again at the next start.
    const next = new Other()
    await (await start(folder, spool, next)).settled()
    expect(next.texts()).toEqual(['0'])
  })
})

describe('When the other log refuses a topic', () => {
  test('it is named, the doors go on taking in, the other topics go on, and all goes on afterwards', async () => {
    const folder = await newFolder()
    const spool = await openSpool(folder)
    const other = new Other()
    const told: string[] = []
    const sentence = 'The brokers do not allow it to this user. Give the user the right.'
    other.refuse = (topic) =>
      topic === 'melt' ? new LogError('LOG_FORBIDDEN', sentence) : undefined
    const forwarding = await start(folder, spool, other, { tell: (line) => told.push(line) })
    await spool.append('melt', numbered(0, 30))
    await spool.append('pour', numbered(100, 30))
    await vi.waitUntil(() => other.texts('pour').length === 30 && forwarding.refusals.size > 0)
    expect([...forwarding.refusals]).toEqual([['melt', sentence]])
    expect(forwarding.away).toBeUndefined()
    await spool.append('melt', numbered(30, 30))
    expect((await forwarding.waiting()).get('melt')).toBe(60)
    await vi.waitUntil(() => other.tries > 10)
    expect(told).toEqual([
      `Publishing the reports of melt stands still: ${sentence} What the doors take in is kept on their disk and goes on when that is put right.`,
    ])
    other.refuse = () => undefined
    await forwarding.settled()
    expect(other.texts('melt')).toHaveLength(60)
    expect(told.at(-1)).toBe('Publishing the reports of melt goes on.')
    expect(forwarding.refusals.size).toBe(0)
  })
})

describe('Everything goes again, rather than that something is left out,', () => {
  test('when the brokers are others than before', async () => {
    const folder = await newFolder()
    const spool = await openSpool(folder)
    await spool.append('melt', numbered(0, 20))
    const before = await start(folder, spool, new Other('one'))
    await before.settled()
    await before.stop()
    const told: string[] = []
    const other = new Other('two')
    const after = await start(folder, spool, other, { tell: (line) => told.push(line) })
    await vi.waitUntil(() => other.entries.length === 20)
    await after.settled()
    expect(told.join()).toContain('other brokers than before')
  })

  test('when the end of the spool was torn off and other reports now stand there', async () => {
    const folder = await newFolder()
    const first = await openSegmentLog({ folder, topics: TOPICS, partitions: 1 })
    await first.append('melt', numbered(0, 10))
    const before = await start(folder, first, new Other('one'))
    await before.settled()
    await before.stop()
    await first.close()
    // As a crash leaves it: nobody noted where the files ended, and the last record is cut in two.
    await rm(join(folder, 'ends.json'))
    const [file] = (await readdir(join(folder, 'melt', '0'))).filter((name) =>
      name.endsWith('.log'),
    )
    const path = join(folder, 'melt', '0', file!)
    await truncate(path, (await stat(path)).size - 3)
    const torn = await openSpool(folder, 1)
    expect(torn.torn).toHaveLength(1)
    await torn.append('melt', numbered(100, 3))
    const other = new Other('one')
    await (await start(folder, torn, other)).settled()
    expect(other.texts().map(Number)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 100, 101, 102])
  })

  test('when another spool was put in its place', async () => {
    const [folder, another] = [await newFolder(), await newFolder()]
    const spool = await openSpool(folder)
    await spool.append('melt', numbered(0, 20))
    const before = await start(folder, spool, new Other('one'))
    await before.settled()
    await before.stop()
    const exchanged = await openSpool(another)
    await exchanged.append('melt', numbered(500, 40))
    const other = new Other('one')
    // The mark of the first beside the records of the second.
    await (await start(folder, exchanged, other)).settled()
    expect(other.entries).toHaveLength(40)
  })
})

const KILLS = 20

test(`after ${KILLS} kills in the middle of appending and sending on, all that was acknowledged has arrived`, async () => {
  const [folder, otherFolder] = [await newFolder(), await newFolder()]
  const acknowledged = new Set<string>()
  for (let kill = 0; kill < KILLS; kill++) {
    const lines = await runUntilKilled(folder, otherFolder, kill * 1_000_000, 10 + kill * 37)
    for (const line of lines) acknowledged.add(line)
  }
  const spool = await openSpool(folder)
  const other = await openSpool(otherFolder, 3)
  const forwarding = await start(folder, spool, other)
  await forwarding.settled()
  const arrived = (await allIn(other)).map((record) => ({ ...record, said: said(record) }))
  const held = new Set(arrived.map(({ said }) => said))
  expect(acknowledged.size).toBeGreaterThan(KILLS * 37)
  expect([...acknowledged].filter((line) => !held.has(line))).toEqual([])
  // Nothing that the spool does not have, and what came again is no more than what was under way.
  expect(held).toEqual(new Set((await allIn(spool)).map(said)))
  expect(arrived.length - held.size).toBeLessThanOrEqual(KILLS * 4 * 500)
  for (const own of Map.groupBy(arrived, ({ topic, key }) => topic + key).values()) {
    const firsts = [...new Set(own.map(({ said }) => Number(said.split(' ')[1])))]
    expect(firsts).toEqual((await inSpoolOrder(spool, own[0]!)).map(Number))
  }
})

function said({ topic, value }: LogRecord): string {
  return `${topic} ${Buffer.from(value).toString()}`
}

async function inSpoolOrder(spool: Log, { topic, key }: LogRecord): Promise<string[]> {
  const own = (await allIn(spool)).filter((record) => record.topic === topic && record.key === key)
  return own.map(({ value }) => Buffer.from(value).toString())
}

/** What the process had acknowledged when it was killed. */
async function runUntilKilled(
  folder: string,
  other: string,
  first: number,
  acknowledgements: number,
): Promise<string[]> {
  const script = join(import.meta.dirname, 'forward-until-killed.ts')
  const child = spawn(process.execPath, [script, folder, other, String(first)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  const exit = new Promise((done) => child.once('exit', (_, signal) => done(signal)))
  const acknowledged: string[] = []
  for await (const line of createInterface(child.stdout)) {
    acknowledged.push(line)
    if (acknowledged.length === acknowledgements) child.kill('SIGKILL')
  }
  expect(await exit).toBe('SIGKILL')
  return acknowledged
}
