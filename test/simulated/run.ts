// One simulated shift from its seed: stations report while machines die, disks fill up, brokers and
// database go away; then all of it is put right, and everything must be there, once. See simulate.ts.
import type { LogRecord } from '../../services/log/log.ts'
import { Brokers } from './brokers.ts'
import { checkAll, checkLogRestored, type Told } from './check.ts'
import { Database } from './database.ts'
import { DoorMachine, type House, ReaderMachine } from './machines.ts'
import { type Plan, planFor } from './plan.ts'
import { type Report, reportsOf, smuggled, TOPICS } from './reports.ts'
import { inWorld, World } from './world.ts'

export interface Outcome {
  seed: number
  plan: Plan
  /** Each in a sentence; none when all is well. */
  violations: string[]
  /** Whether the same seed has done the same: the things that happened, and when the last one did. */
  trace: string
  records: number
}

const PATIENCE_MS = 3_000
const STRAGGLING_MS = 3_000
/** All must be in so long after all was put right. */
const CATCH_UP_MS = 120_000

export async function simulate(seed: number): Promise<Outcome> {
  const world = new World(seed)
  return inWorld(world, () => new Shift(world).run())
}

class Shift {
  readonly #house: House
  readonly #door: DoorMachine
  readonly #readers: ReaderMachine[]
  readonly #told: Told = {
    ...{ acknowledged: new Set(), refused: new Set(), said: new Set(), smuggled: new Set() },
  }
  #talking = 0

  constructor(world: World) {
    const plan = planFor(world)
    const brokers = new Brokers(world, TOPICS, plan.brokerPartitions)
    const notes = { violations: [], seen: new Map(), alarms: new Map() }
    this.#house = { world, plan, brokers, notes, database: new Database(world) }
    this.#door = new DoorMachine(this.#house)
    const readers = plan.embedded ? 0 : plan.readers
    this.#readers = Array.from({ length: readers }, () => new ReaderMachine(this.#house))
  }

  async run(): Promise<Outcome> {
    const { world, plan, notes, database, brokers } = this.#house
    this.#door.start()
    for (const reader of this.#readers) reader.start()
    for (const reports of reportsOf(world, plan.heats).values()) void this.#talk(reports)
    for (let i = 0; i < plan.smuggled; i++)
      world.later(world.between(0, plan.troubleMs), () => void this.#smuggle())
    this.#goWrong()
    await world.run(world.now + plan.troubleMs, () => false)
    this.#putRight()
    // What was about to die still does.
    await world.run(world.now + STRAGGLING_MS, () => false)
    const deadline = world.now + CATCH_UP_MS
    let settled = false
    this.#whenSettled(() => {
      settled = true
    })
    if (!(await world.run(deadline, () => settled))) notes.violations.push(this.#standing())
    const spool = await this.#spooled()
    const log = plan.embedded ? spool : brokers.partitions.flatMap(({ records }) => records)
    if (settled) checkAll(this.#house, this.#told, log, spool)
    if (settled && plan.logRestored) await checkLogRestored(this.#house, this.#readers)
    return {
      ...{ seed: world.seed, plan, records: log.length },
      violations: [...new Set([...notes.violations, ...database.offences])],
      trace: `${world.steps} steps, ${world.elapsedMs} ms, ${log.length} records`,
    }
  }

  /** A machine on the floor: one report after the other, each until it is answered. */
  async #talk(reports: readonly Report[]): Promise<void> {
    const { world, notes } = this.#house
    this.#talking++
    for (const { event, good } of reports) {
      this.#told.said.add(`${event.source} ${event.id}`)
      for (;;) {
        await world.pause(world.between(1, 900))
        const door = this.#door.door
        if (!door) continue
        const take = () => door.take([event], { decisions: true }).catch(() => undefined)
        // In a hurry it sends the report twice, and believes whichever answer comes first.
        const answers = world.chance(0.2) ? [take(), take()] : [take()]
        const receipts = await Promise.race([...answers, world.pause(PATIENCE_MS)])
        const receipt = receipts?.[0]
        if (!receipt) {
          // Nobody knows what became of it, and it is not sent again.
          if (world.chance(0.03)) break
          continue
        }
        if (receipt.outcome !== 'refused')
          this.#told.acknowledged.add(`${event.source} ${event.id}`)
        else if (good)
          notes.violations.push(`${event.id} was refused: ${receipt.problems[0]?.sentence}`)
        else this.#told.refused.add(event.id)
        break
      }
    }
    this.#talking--
  }

  async #smuggle(): Promise<void> {
    const { world, plan, brokers } = this.#house
    const { topic, entry } = smuggled(world)
    this.#told.smuggled.add(Buffer.from(entry.value).toString('latin1'))
    if (plan.embedded) await this.#door.log?.append(topic, [entry]).catch(() => undefined)
    else brokers.smuggle(topic, entry)
  }

  #goWrong(): void {
    const { world, plan, database, brokers } = this.#house
    this.#door.disk.faults = plan.disk
    database.faults = plan.database
    brokers.faults = plan.brokers
    this.#again(plan.doorKillMs, () => this.#door.kill())
    const anyReader = (what: (reader: ReaderMachine) => void) => () => {
      if (this.#readers.length > 0) what(world.pick(this.#readers))
    }
    this.#again(
      plan.readerKillMs,
      anyReader((reader) => reader.kill()),
    )
    this.#again(
      plan.leaveMs,
      anyReader((reader) => void reader.leave()),
    )
    const freeze = anyReader(({ life }) => {
      life.frozenUntil = world.now + world.between(100, 20_000)
    })
    this.#again(plan.freezeMs, freeze)
    this.#again(plan.breakMs, () => database.breakAll())
    this.#again(plan.databaseAwayMs, () => {
      database.away = true
      database.breakAll()
      world.later(world.between(100, 5_000), () => {
        database.away = false
      })
    })
    this.#again(plan.brokersAwayMs, () => {
      brokers.away = true
      world.later(world.between(100, 20_000), () => {
        brokers.away = false
      })
    })
    if (!plan.restored) return
    const madeMs = world.between(0, plan.troubleMs * 0.8)
    world.later(madeMs, () => {
      const held = database.backUp()
      world.later(world.between(1, plan.troubleMs - madeMs), () => database.restore(held))
    })
  }

  /** Again and again while things go wrong. */
  #again(meanMs: number, what: () => void): void {
    const { world, plan } = this.#house
    if (meanMs === Number.POSITIVE_INFINITY) return
    const afterMs = -Math.log(1 - world.random()) * meanMs
    if (world.elapsedMs + afterMs > plan.troubleMs) return
    world.later(afterMs, () => {
      what()
      this.#again(meanMs, what)
    })
  }

  #putRight(): void {
    const { database, brokers } = this.#house
    this.#door.disk.faults = { full: 0, failedSync: 0, death: 0 }
    database.faults = { before: 0, after: 0 }
    database.away = false
    brokers.faults = { lost: 0, unanswered: 0, late: 0 }
    brokers.away = false
  }

  #whenSettled(done: () => void): void {
    const look = async () => {
      if (await this.#isSettled()) done()
      else this.#house.world.later(200, () => void look())
    }
    void look()
  }

  async #isSettled(): Promise<boolean> {
    const { plan, brokers, database } = this.#house
    const { door, log, forwarding } = this.#door
    if (this.#talking > 0 || !door || !log) return false
    if (!plan.embedded) {
      if (!forwarding) return false
      const waiting = [...(await forwarding.waiting()).values()]
      if (waiting.some((left) => left > 0)) return false
    }
    const spans = plan.embedded ? await log.spans() : brokers.partitions
    return spans.every(({ topic, partition, next }) => {
      return (database.held.positions.get(`${topic}/${partition}`)?.next ?? 0n) === next
    })
  }

  #standing(): string {
    const { database, brokers, notes } = this.#house
    const positions = [...database.held.positions].map(([key, { next }]) => `${key} ${next}`)
    const ends = brokers.partitions.map(
      ({ topic, partition, next }) => `${topic}/${partition} ${next}`,
    )
    const alarms = [...notes.alarms].join(' ')
    return `not all in: ${this.#talking} stations talk, positions ${positions}, ends ${ends}, alarms ${alarms}`
  }

  /** All that the door has on its disk. */
  async #spooled(): Promise<LogRecord[]> {
    const { world } = this.#house
    const { log } = this.#door
    if (!log) return []
    const records: LogRecord[] = []
    let done = false
    const read = async () => {
      for (const { topic, partition, first, next } of await log.spans())
        for (let at = first; at < next; at = records.at(-1)!.offset + 1n)
          records.push(...(await log.read(topic, partition, at, 1_000)))
      done = true
    }
    const reading = read()
    await world.run(world.now + CATCH_UP_MS, () => done)
    if (done) await reading
    return records
  }
}
