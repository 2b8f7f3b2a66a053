// Stations report and genealogy follows, each in processes of its own, while chance picks which of
// them is killed next. Afterwards everything is counted against what was acknowledged.
import { type ChildProcess, spawn } from 'node:child_process'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { setTimeout as pause } from 'node:timers/promises'
import type { KafkaPlace } from '../../services/log/kafka/client.ts'
import { openKafkaLog } from '../../services/log/kafka/kafka.ts'
import type { Store } from '../../services/store/connect.ts'
import type { ReportingOrder } from './kafka-append-until-killed.ts'
import type { FollowingOrder } from './kafka-follow-until-killed.ts'
import { KG } from './kafka-reports.ts'

export interface ChaosOrder {
  /** As the station, and as the reader. */
  station: KafkaPlace
  reader: KafkaPlace
  topicPrefix: string
  databaseUrl: string
  store: Store
  followers: number
  rivals?: boolean
  perSecond: number
  kills: number
  /** All the killing and catching up must be over by then. */
  deadlineMs: number
  /** Before each round of kills, for what else shall go wrong; counts from 1. */
  meanwhile?: (round: number) => Promise<void>
}

export interface ChaosCount {
  acknowledged: number
  /** Records in the log, and how many of them say again what another says. */
  records: number
  duplicates: number
  lost: number
  /** Reports in force more often than once, and rows that no record of the log accounts for. */
  double: number
  /** Of the masses in force, in kg, away from what the reports say. */
  massOff: number
  kills: number
  /** From the last kill until all was in the database. */
  caughtUpMs: number
  longestStandMs: number
}

const BETWEEN_KILLS_MS = 600
const WORK_MS = 8_000
/** Processes that start this often should not compile the same code each time. */
const COMPILED = join(import.meta.dirname, '../../node_modules/.cache/compiled')

export async function chaos(order: ChaosOrder): Promise<ChaosCount> {
  const until = Date.now() + order.deadlineMs
  const topic = order.topicPrefix + 'melt'
  const station = new Station(order.station, topic, order.perSecond)
  const followers = Array.from({ length: order.followers }, () => new Follower(order, topic))
  const stands = watchProgress(order.store, () => station.acknowledged)
  const all = [station, ...followers]
  let kills = 0
  try {
    for (const each of all) each.start()
    for (let round = 1; kills < order.kills; round++) {
      await order.meanwhile?.(round)
      await before(until, workDone(order.store, station))
      // Anywhere in what they do: the pause is no wait for anything.
      await pause(BETWEEN_KILLS_MS * Math.random())
      const victims = pickTwo(all.filter(({ isUp }) => isUp))
      await Promise.all(victims.map((victim) => victim.kill()))
      for (const victim of victims) victim.start()
      kills += victims.length
    }
    const ended = Date.now()
    await before(until, station.up)
    await station.stop()
    const records = await caughtUp(order, topic, until)
    const caughtUpMs = Date.now() - ended
    const counts = await countIn(order.store, topic, station.acknowledged)
    return { ...counts, records, kills, caughtUpMs, longestStandMs: stands.longest() }
  } finally {
    stands.stop()
    await Promise.all(all.map((each) => each.kill()))
  }
}

function pickTwo<T>(from: readonly T[]): T[] {
  return from.toSorted(() => Math.random() - 0.5).slice(0, 2)
}

/** Resolves when more has been sent and more been taken, so that the next kill meets work; or after a while. */
async function workDone(store: Store, station: Station): Promise<void> {
  const until = Date.now() + WORK_MS
  const [sent, taken] = [station.acknowledged, await positionsIn(store)]
  while (Date.now() < until) {
    if (station.acknowledged > sent && (await positionsIn(store)) > taken) return
    await pause(50)
  }
}

/** A process that is killed and started again. */
class Victim<Order> {
  readonly #script: string
  #process: ChildProcess | undefined
  /** Resolves when it does what it is for; rejects when it ends by itself. */
  up: Promise<void> = Promise.resolve()
  isUp = false

  constructor(script: string) {
    this.#script = script
  }

  protected run(order: Order, line: (text: string) => boolean): void {
    const script = join(import.meta.dirname, this.#script)
    const child = spawn(process.execPath, [script, JSON.stringify(order)], {
      stdio: ['ignore', 'pipe', 'pipe'],
      env: { ...process.env, NODE_COMPILE_CACHE: COMPILED },
    })
    this.#process = child
    this.isUp = false
    let said = ''
    child.stderr!.on('data', (text) => {
      said = (said + text).slice(-2_000)
    })
    this.up = new Promise((done, failed) => {
      createInterface(child.stdout!).on('line', (text) => {
        if (!line(text) || child !== this.#process) return
        this.isUp = true
        done()
      })
      child.on('exit', (code) => code && failed(new Error(`${this.#script} ended: ${said}`)))
    })
    this.up.catch(() => undefined)
  }

  async kill(signal: 'SIGKILL' | 'SIGTERM' = 'SIGKILL'): Promise<void> {
    const child = this.#process
    this.#process = undefined
    this.isUp = false
    if (!child || child.exitCode !== null || child.signalCode !== null) return
    const gone = new Promise((done) => child.once('close', done))
    child.kill(signal)
    await gone
  }
}

class Station extends Victim<ReportingOrder> {
  /** All below this number are acknowledged. */
  acknowledged = 0
  readonly #order: Omit<ReportingOrder, 'first'>

  constructor(place: KafkaPlace, topic: string, perSecond: number) {
    super('kafka-append-until-killed.ts')
    this.#order = { place, topic, perSecond }
  }

  start(): void {
    this.run({ ...this.#order, first: this.acknowledged }, (line) => {
      this.acknowledged = Math.max(this.acknowledged, Number(line))
      return true
    })
  }

  async stop(): Promise<void> {
    await this.kill('SIGTERM')
  }
}

class Follower extends Victim<FollowingOrder> {
  readonly #order: FollowingOrder

  constructor(order: ChaosOrder, topic: string) {
    super('kafka-follow-until-killed.ts')
    const { reader: place, topicPrefix, databaseUrl, rivals: rival = false } = order
    this.#order = { place, topics: [topic], topicPrefix, databaseUrl, rival }
  }

  start(): void {
    this.run(this.#order, (line) => line === 'following')
  }
}

async function before<T>(until: number, work: Promise<T>): Promise<T> {
  let timer: NodeJS.Timeout | undefined
  const late = new Promise<never>((_, failed) => {
    timer = setTimeout(() => failed(new Error('The deadline is over.')), until - Date.now())
  })
  return Promise.race([work, late]).finally(() => clearTimeout(timer))
}

/** Waits until the database is level with the log, and answers how many records that is. */
async function caughtUp(order: ChaosOrder, topic: string, until: number): Promise<number> {
  const log = await openKafkaLog({ ...order.reader, topics: [topic] })
  try {
    const spans = await log.spans()
    const records = spans.reduce((sum, { next }) => sum + Number(next), 0)
    for (let taken = -1; taken < records; ) {
      taken = await positionsIn(order.store)
      if (Date.now() > until)
        throw new Error(`Not caught up in time: ${taken} of ${records} records taken.`)
      if (taken < records) await pause(50)
    }
    return records
  } finally {
    await log.close()
  }
}

async function positionsIn(store: Store): Promise<number> {
  const { rows } = await store.pool.query('select sum(next_offset)::int as taken from position')
  return rows[0].taken ?? 0
}

async function countIn(store: Store, topic: string, acknowledged: number) {
  const { rows } = await store.pool.query(
    `with force as (select s.* from in_force join statement s using (topic, partition, "offset"))
     select
       (select count(*) from statement where topic = $1)::int as rows,
       (select count(*) from set_aside)::int as aside,
       (select count(distinct id) from statement where topic = $1)::int as ids,
       (select count(*) from force)::int as in_force,
       (select count(distinct id) from force)::int as in_force_ids,
       (select coalesce(sum(amount), 0) from fact join force using (topic, partition, "offset")
        where what = 'ladle-tapped') as grams,
       (select count(*) from generate_series(0, $2 - 1) as number
        where not exists (select from force where id = 'tap-' || number))::int as lost`,
    [topic, acknowledged],
  )
  const count = rows[0]
  const off = await positionsIn(store)
  return {
    acknowledged,
    duplicates: count.rows - count.ids,
    lost: count.lost,
    double: count.in_force - count.in_force_ids + Math.abs(count.rows + count.aside - off),
    massOff: count.grams / 1_000 - count.ids * KG,
  }
}

/** How long at most nothing was taken while there was something to take. */
function watchProgress(store: Store, sent: () => number): { longest(): number; stop(): void } {
  let [longest, last, since] = [0, 0, Date.now()]
  const timer = setInterval(async () => {
    const taken = await positionsIn(store).catch(() => last)
    if (last > 0 && taken === last && taken < sent())
      longest = Math.max(longest, Date.now() - since)
    else since = Date.now()
    last = taken
  }, 100)
  return { longest: () => longest, stop: () => clearInterval(timer) }
}
