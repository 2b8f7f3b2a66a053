// Outages of real things while reports come in, short for the suite and long for the proof: brokers
// away, a database stopped at once and frozen, one put back to an earlier state, a disk that fills up.
import { execFile } from 'node:child_process'
import { mkdir } from 'node:fs/promises'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { promisify } from 'node:util'
import { genealogy } from '../../services/genealogy/consume.ts'
import { fingerprint } from '../../services/genealogy/fingerprint.ts'
import { rebuild } from '../../services/genealogy/rebuild.ts'
import { forward } from '../../services/log/forward.ts'
import { KafkaClient, type KafkaPlace } from '../../services/log/kafka/client.ts'
import { openKafkaLog } from '../../services/log/kafka/kafka.ts'
import type { Log } from '../../services/log/log.ts'
import { openSegmentLog } from '../../services/log/segment/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { openDoor } from '../../services/stations/door.ts'
import { connect, type Store } from '../../services/store/connect.ts'
import { migrate } from '../../services/store/migrate.ts'
import { shift } from '../genealogy/events.ts'
import { say } from '../genealogy/house.ts'
import type { Cluster } from '../log/broker-cluster.ts'
import { reportOf } from '../log/kafka-reports.ts'
import { makeTestTopics } from '../log/kafka-topics.ts'
import { tap } from '../stations/said.ts'
import type { OwnPostgres } from '../store/own-postgres.ts'

const run = promisify(execFile)
const CATCH_UP_MS = 60_000

export interface BrokersAway {
  acknowledged: number
  lost: number
  /** From when they answered again until the spool was empty: their own start is not ours. */
  drainedMs: number
  /** Of memory in use, from the beginning of the outage to its end. */
  grownBytes: number
}

/** All brokers killed and started again, while a door goes on taking reports in. */
export async function brokersAway(
  cluster: Cluster,
  folder: string,
  { awayMs, perSecond }: { awayMs: number; perSecond: number },
): Promise<BrokersAway> {
  const place = { brokers: cluster.addresses }
  const topic = `away${Date.now()}.melt`
  await makeTestTopics(place, [topic], 3)
  const spool = await openSegmentLog({ folder, topics: ['melt'], partitions: 2 })
  const forwarding = await forward({
    ...{ spool, folder, tell: () => undefined, topic: () => topic },
    open: () => openKafkaLog({ ...place, topics: [topic] }),
  })
  let acknowledged = 0
  let stopping = false
  const reporting = (async () => {
    for (; !stopping; await pause(1_000 / perSecond)) {
      await spool.append('melt', [reportOf(acknowledged)])
      acknowledged++
    }
  })()
  try {
    await pause(1_000)
    for (const broker of cluster.brokers) await broker.kill()
    const before = usedBytes()
    await pause(awayMs)
    const grownBytes = usedBytes() - before
    const waited = (await forwarding.waiting()).get('melt') ?? 0
    if (waited < (perSecond * awayMs) / 4_000) throw new Error(`Only ${waited} reports waited.`)
    await Promise.all(cluster.brokers.map((broker) => broker.start()))
    const began = await inTime(CATCH_UP_MS, 'the brokers to answer', answering(place, topic))
    stopping = true
    await reporting
    await inTime(CATCH_UP_MS, 'the spool to be empty', forwarding.settled())
    const drainedMs = Date.now() - began
    const log = await openKafkaLog({ ...place, topics: [topic] })
    const arrived = new Set((await allIn(log)).map((value) => JSON.parse(value).id as string))
    await log.close()
    const lost = Array.from({ length: acknowledged }, (_, i) => `tap-${i}`).filter(
      (id) => !arrived.has(id),
    ).length
    return { acknowledged, lost, drainedMs, grownBytes }
  } finally {
    stopping = true
    await reporting.catch(() => undefined)
    await forwarding.stop()
    await spool.close()
  }
}

/** When the first question was asked that somebody else was answered. Unit: ms. */
async function answering(place: KafkaPlace, topic: string): Promise<number> {
  const client = new KafkaClient({ ...place, patienceMs: 0 })
  for (;;) {
    const askedAt = Date.now()
    const answer = await client
      .ask('where a topic ends', (admin) => admin.fetchTopicOffsets(topic))
      .catch(() => undefined)
    if (answer) {
      client.close()
      return askedAt
    }
    await pause(50)
  }
}

function usedBytes(): number {
  globalThis.gc?.()
  return process.memoryUsage().heapUsed
}

export interface DatabaseOutage {
  records: number
  /** Rows that are missing, or there twice. */
  off: number
  /** The record that came through it, and the one made at once from the log. */
  prints: [string, string]
  /** From the end of the last outage until all was in. */
  caughtUpMs: number
}

/** What happens to a database while genealogy follows a log into it. */
export async function databaseOutage(
  postgres: OwnPostgres,
  folder: string,
  outage: (store: Store) => Promise<void>,
  rounds: number,
): Promise<DatabaseOutage> {
  const store = await connect({ url: postgres.url })
  await migrate(store)
  await store.pool.query('truncate statement, fact, set_aside, position')
  const log = await openSegmentLog({ folder, topics: topicsOf(), partitions: 2 })
  const reader = genealogy({ store, log, now: Date.now, tell: () => undefined })
  const following = await log.follow(reader)
  const heats = shift(rounds * 20)
  const each = Math.ceil(heats.length / rounds)
  try {
    for (let round = 0; round < rounds; round++) {
      await say(log, heats.slice(round * each, (round + 1) * each))
      await outage(store)
    }
    const began = Date.now()
    await inTime(CATCH_UP_MS, 'all to be in', untilLevel(log, store))
    const caughtUpMs = Date.now() - began
    const grown = await fingerprint(store)
    const { rows } = await store.pool.query(
      'select count(*)::int as rows, count(distinct (source, id, hash))::int as said from statement',
    )
    const records = (await log.spans()).reduce((sum, { next }) => sum + Number(next), 0)
    const off = Math.abs(rows[0].rows - records) + Math.abs(rows[0].said - records)
    await following.stop()
    await rebuild({ log, store, now: Date.now, tell: () => undefined })
    return { records, off, prints: [grown, await fingerprint(store)], caughtUpMs }
  } finally {
    await following.stop()
    await log.close()
    await store.close()
  }
}

/** Not what followers say of themselves: the database may have gone back behind their backs. */
async function untilLevel(log: Log, store: Store): Promise<void> {
  for (;;) {
    const { rows } = await store.pool
      .query('select coalesce(sum(next_offset), 0)::int as taken from position')
      .catch(() => ({ rows: [{ taken: -1 }] }))
    const end = (await log.spans()).reduce((sum, { next }) => sum + Number(next), 0)
    if (rows[0].taken === end) return
    await pause(50)
  }
}

/** Position first, as writers take it. */
const KEPT = ['position', 'statement', 'fact', 'set_aside']

/** All of one moment: a position that is ahead of its rows is none that any backup may have. */
export async function backUp({ pool }: Store): Promise<void> {
  const parts = KEPT.map((table) => `create table old_${table} as table ${table};`)
  const gone = KEPT.map((table) => `drop table if exists old_${table};`)
  await pool.query(gone.join(''))
  await pool.query(`begin isolation level repeatable read; ${parts.join('')} commit`)
}

/** Puts back what was there at the last `backUp`. */
export async function restore({ pool }: Store): Promise<void> {
  const parts = KEPT.map((table) => `truncate ${table}; insert into ${table} table old_${table};`)
  await pool.query(`begin; ${parts.join('')} commit`)
}

/** How long a partition stays with a process that stands still inside a transaction. */
export async function frozenOwner(postgres: OwnPostgres, folder: string): Promise<number> {
  const [owner, store] = [
    await connect({ url: postgres.url }),
    await connect({ url: postgres.url }),
  ]
  await migrate(store)
  await store.pool.query('truncate statement, fact, set_aside, position')
  const log = await openSegmentLog({ folder, topics: topicsOf(), partitions: 1 })
  await say(log, shift(2))
  const first = genealogy({ store, log, now: Date.now, tell: () => undefined })
  const following = await log.follow(first)
  await following.settled()
  // As a process that was stopped between two statements holds it.
  const client = await owner.pool.connect()
  client.on('error', () => undefined)
  await client.query('begin')
  await client.query('select from position for update')
  const began = Date.now()
  await say(log, shift(4))
  await inTime(CATCH_UP_MS, 'the successor', following.settled())
  const takenOverMs = Date.now() - began
  client.release(true)
  await following.stop()
  await log.close()
  await store.close()
  await owner.close()
  return takenOverMs
}

export interface FullDisk {
  acknowledged: number
  lost: number
  refusal: string
}

/** A door on a small disk of its own until that is full. Needs the right to mount. */
export async function fullDisk(folder: string, megabytes: number): Promise<FullDisk | undefined> {
  const disk = join(folder, 'small')
  await mkdir(disk)
  const mounted = await run('mount', [
    '-t',
    'tmpfs',
    '-o',
    `size=${megabytes}m`,
    'tmpfs',
    disk,
  ]).then(
    () => true,
    () => false,
  )
  if (!mounted) return undefined
  try {
    const open = () =>
      openSegmentLog({ folder: join(disk, 'log'), topics: ['melt'], partitions: 1 })
    let log = await open()
    let door = await openDoor({ log, stations: ['melt'] })
    const acknowledged: string[] = []
    let refusal = ''
    for (let i = 0; refusal === ''; i += 50) {
      const events = Array.from({ length: 50 }, (_, n) => tap(i + n))
      await door.take(events).then(
        (receipts) => acknowledged.push(...receipts.map(({ id }) => id!)),
        (error) => {
          refusal = (error as Error).message
        },
      )
    }
    if (door.trouble === undefined) throw new Error('The door says nothing of it.')
    await door.close()
    await log.close()
    // Room is made, and it is started anew.
    await run('mount', ['-o', `remount,size=${2 * megabytes}m`, disk])
    log = await open()
    door = await openDoor({ log, stations: ['melt'] })
    await door.take([tap(1_000_000)])
    const there = new Set((await allIn(log)).map((value) => JSON.parse(value).id as string))
    await door.close()
    await log.close()
    const lost = [...acknowledged, 'tap-1000000'].filter((id) => !there.has(id)).length
    return { acknowledged: acknowledged.length, lost, refusal }
  } finally {
    await run('umount', [disk])
  }
}

async function allIn(log: Log): Promise<string[]> {
  const all: string[] = []
  for (const { topic, partition, first, next } of await log.spans())
    for (let at = first; at < next; ) {
      const records = await log.read(topic, partition, at, 1_000)
      all.push(...records.map(({ value }) => Buffer.from(value).toString()))
      at += BigInt(records.length)
    }
  return all
}

async function inTime<T>(limitMs: number, what: string, work: Promise<T>): Promise<T> {
  let timer: NodeJS.Timeout | undefined
  const late = new Promise<never>((_, failed) => {
    timer = setTimeout(() => failed(new Error(`${what} took over ${limitMs} ms`)), limitMs)
  })
  return Promise.race([work, late]).finally(() => clearTimeout(timer))
}
