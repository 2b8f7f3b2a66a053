// The processes of a simulated house: a door with its disk, and genealogies. Each is started, dies and
// is started again; what runs inside is the program as it is.
import { type GenealogyParts, genealogy } from '../../services/genealogy/consume.ts'
import { type Forwarding, forward } from '../../services/log/forward.ts'
import type { Following, LogRecord, Reader, Span } from '../../services/log/log.ts'
import { Follower } from '../../services/log/segment/follow.ts'
import { Group } from '../../services/log/segment/group.ts'
import { openSegmentLog, type SegmentLog } from '../../services/log/segment/segment.ts'
import { type Door, openDoor } from '../../services/stations/door.ts'
import type { Brokers } from './brokers.ts'
import type { Database } from './database.ts'
import { Disk } from './disk.ts'
import type { Plan } from './plan.ts'
import { TOPICS } from './reports.ts'
import { Life, type World } from './world.ts'

/** What is noticed while things happen. */
export interface Notes {
  violations: string[]
  /** Content of every record a reader was given, by place. */
  seen: Map<string, string>
  /** Partitions that stand still, by name of the alarm. */
  alarms: Map<string, string>
}

export interface House {
  world: World
  plan: Plan
  database: Database
  brokers: Brokers
  notes: Notes
}

const AGAIN_MS = [50, 1_500] as const

export class DoorMachine {
  readonly disk = new Disk()
  life: Life
  door: Door | undefined
  log: SegmentLog | undefined
  forwarding: Forwarding | undefined
  followings: Following[] = []
  readonly #house: House

  constructor(house: House) {
    this.#house = house
    this.life = new Life(house.world)
    this.disk.kill = () => this.kill()
  }

  /** Starts, and again whenever it cannot or its disk fails. */
  start(): void {
    const { world, notes } = this.#house
    this.life.kill()
    const life = new Life(world)
    this.life = life
    void this.#open(life).catch((error) => {
      if (!life.alive) return
      // Nothing was promised that a crash could have taken: a damaged log is one we have made.
      if (error.code === 'LOG_CORRUPT')
        notes.violations.push(`the log is damaged: ${error.message}`)
      this.again()
    })
    const look = () => {
      if (!life.alive) return
      if (this.door?.trouble && this.life === life) this.again()
      else world.later(700, look)
    }
    world.later(700, look)
  }

  /** As a supervisor does it after it was killed or has ended by itself. */
  again(): void {
    const { world } = this.#house
    this.life.kill()
    this.door = this.log = this.forwarding = undefined
    this.followings = []
    world.later(world.between(...AGAIN_MS), () => this.start())
  }

  kill(): void {
    const { world, plan } = this.#house
    this.life.kill()
    if (world.chance(plan.powerCuts)) this.disk.cutPower(world)
    this.again()
  }

  async #open(life: Life): Promise<void> {
    const { plan, world, brokers } = this.#house
    const folder = this.disk.live(life, 'door')
    const log = await openSegmentLog({
      ...{ folder, topics: TOPICS, segmentBytes: plan.segmentBytes },
      partitions: plan.spoolPartitions,
    })
    this.log = log
    if (plan.embedded) {
      for (const reader of readersIn(this.#house, life, () => log.spans()))
        this.followings.push(await log.follow(reader))
    } else {
      this.forwarding = await forward({
        ...{ spool: log, folder, tell: () => undefined },
        open: async () => brokers.targetOf(life),
      })
    }
    this.door = await openDoor({ log, now: () => world.now })
  }
}

export class ReaderMachine {
  life: Life
  #group: Group | undefined
  #followers: Following[] = []
  readonly #house: House

  constructor(house: House) {
    this.#house = house
    this.life = new Life(house.world)
    house.brokers.watch(() => this.#group?.wake())
  }

  start(): void {
    const { brokers, world } = this.#house
    this.life.kill()
    const life = new Life(world)
    this.life = life
    const group = new Group(brokers.partitions)
    this.#group = group
    const spans = async () => brokers.partitions.map(spanOf)
    this.#followers = readersIn(this.#house, life, spans).map(
      (reader) => new Follower(group, reader),
    )
  }

  kill(): void {
    const { world } = this.#house
    this.life.kill()
    world.later(world.between(...AGAIN_MS), () => this.start())
  }

  /** One of its readers hands over what it has, and another comes. */
  async leave(): Promise<void> {
    const { brokers } = this.#house
    const [life, group] = [this.life, this.#group!]
    const leaving = this.#followers.shift()
    if (!leaving) return
    await leaving.stop()
    if (!life.alive) return
    const spans = async () => brokers.partitions.map(spanOf)
    this.#followers.push(new Follower(group, readersIn(this.#house, life, spans)[0]!))
  }
}

function spanOf({ topic, partition, first, next }: Span): Span {
  return { topic, partition, first, next }
}

/** As many as the plan says; what they are given is noted. */
function readersIn(house: House, life: Life, spans: GenealogyParts['log']['spans']): Reader[] {
  const { plan, world, database, notes } = house
  const parts = { store: database.storeOf(life), log: { spans }, now: () => world.now }
  return Array.from({ length: plan.members }, () => {
    const reader = genealogy({ ...parts, tell: () => undefined })
    return watched(reader, notes, (place) => database.held.positions.get(place)?.next ?? 0n)
  })
}

function watched(reader: Reader, notes: Notes, position: (place: string) => bigint): Reader {
  const { seen, violations, alarms } = notes
  /** Where a partition was refused because records before it are missing. */
  const gaps = new Map<string, bigint>()
  const note = ({ topic, partition, offset, value }: LogRecord) => {
    const place = `${topic}/${partition}/${offset}`
    const content = Buffer.from(value).toString('latin1')
    const before = seen.get(place)
    if (before !== undefined && before !== content) violations.push(`${place} has changed`)
    seen.set(place, content)
  }
  return {
    group: reader.group,
    from: (topic, partition) => reader.from(topic, partition),
    recognizes: (record) => reader.recognizes!(record),
    async take(batch) {
      for (const record of batch) note(record)
      const { topic, partition, offset } = batch[0]!
      const place = `${topic}/${partition}`
      if (gaps.get(place) === offset && position(place) < offset)
        violations.push(`${place} comes again behind the same gap`)
      gaps.delete(place)
      await reader.take(batch).catch((error) => {
        if (error.code === 'STORE_GAP') gaps.set(place, offset)
        throw error
      })
    },
    stopped({ topic, partition }, reason) {
      alarms.set(`${topic}/${partition}`, reason.code)
      reader.stopped?.({ topic, partition }, reason)
    },
  }
}
