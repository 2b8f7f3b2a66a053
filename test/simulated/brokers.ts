// Brokers as those who write to them and read from them meet them: away, slow, an answer lost, a send
// stored long after it was given up, half of an append stored; and put back to older disks.
import type { Target } from '../../services/log/forward.ts'
import type { Entry, LogRecord, Place } from '../../services/log/log.ts'
import { LogError } from '../../services/log/log-error.ts'
import type { Readable } from '../../services/log/segment/group.ts'
import { partitionOf } from '../../services/log/segment/segment.ts'
import type { Life, World } from './world.ts'

/** Chances of each send. */
export interface BrokerFaults {
  /** Not stored, and no answer. */
  lost: number
  /** Stored, and no answer. */
  unanswered: number
  /** No answer, and stored long after. */
  late: number
}

export class Partition implements Readable {
  readonly topic: string
  readonly partition: number
  records: LogRecord[] = []
  readonly first = 0n
  readonly #world: World

  constructor(world: World, topic: string, partition: number) {
    this.#world = world
    this.topic = topic
    this.partition = partition
  }

  get next(): bigint {
    return BigInt(this.records.length)
  }

  add(entries: readonly Entry[]): void {
    for (const { key, value } of entries)
      this.records.push({
        ...{ topic: this.topic, partition: this.partition, key, value },
        offset: BigInt(this.records.length),
      })
  }

  async read(from: bigint, most: number): Promise<LogRecord[]> {
    await this.#world.pause(this.#world.between(0.1, 3))
    // Batches end anywhere.
    const some = this.#world.whole(1, Math.min(most, 12))
    return this.records.slice(Number(from), Number(from) + some)
  }
}

export class Brokers {
  faults: BrokerFaults = { lost: 0, unanswered: 0, late: 0 }
  away = false
  readonly partitions: Partition[]
  readonly #world: World
  readonly #each: number
  readonly #watchers = new Set<() => void>()

  constructor(world: World, topics: readonly string[], each: number) {
    this.#world = world
    this.#each = each
    this.partitions = topics.flatMap((topic) =>
      Array.from({ length: each }, (_, partition) => new Partition(world, topic, partition)),
    )
  }

  watch(appended: () => void): void {
    this.#watchers.add(appended)
  }

  /** What a process has of them. */
  targetOf(life: Life): Target {
    return {
      cluster: 'simulated',
      append: (topic, entries) => this.#append(life, topic, entries),
      close: async () => undefined,
    }
  }

  /** Past whoever should write: no door has seen it. */
  smuggle(topic: string, entry: Entry): void {
    this.#store(topic, [entry])
  }

  async #append(life: Life, topic: string, entries: readonly Entry[]): Promise<Place[]> {
    const { faults } = this
    await life.act(0.5, 8)
    if (this.away || this.#world.chance(faults.lost)) return this.#silent(life)
    if (this.#world.chance(faults.late)) {
      this.#world.later(this.#world.between(0, 4_000), () => this.#store(topic, entries))
      return this.#silent(life)
    }
    // One partition after the other: the answer may be lost when some of them are stored.
    const groups = Map.groupBy(entries, ({ key }) => partitionOf(key, this.#each))
    for (const group of groups.values()) {
      this.#store(topic, group)
      if (this.#world.chance(faults.unanswered)) return this.#silent(life)
    }
    await life.act(0.5, 8)
    return []
  }

  async #silent(life: Life): Promise<never> {
    await life.act(50, 500)
    throw new LogError('LOG_AWAY', 'The brokers gave no answer.')
  }

  #store(topic: string, entries: readonly Entry[]): void {
    for (const [partition, group] of Map.groupBy(entries, ({ key }) =>
      partitionOf(key, this.#each),
    ))
      this.partitions
        .find((each) => each.topic === topic && each.partition === partition)!
        .add(group)
    for (const appended of this.#watchers) appended()
  }
}
