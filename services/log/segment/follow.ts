// Following: readers of one group share the partitions among them, each goes through its own one
// batch at a time, and wakes when something is appended. Nobody polls.
import { setTimeout as pause } from 'node:timers/promises'
import type { Following, LogRecord, Reader } from '../log.ts'
import { LogError } from '../log-error.ts'

/** What is followed: one partition as its readers see it. */
export interface Readable {
  readonly topic: string
  readonly partition: number
  readonly first: bigint
  readonly next: bigint
  read(from: bigint, most: number): Promise<LogRecord[]>
}

const BATCH_RECORDS = 500
const FIRST_PAUSE_MS = 20
const LONGEST_PAUSE_MS = 5_000

/** The readers of one group: who has which partition, and how far each has been taken. */
export class Group {
  readonly #partitions: readonly Readable[]
  readonly #members: Follower[] = []
  readonly #holder = new Map<Readable, Follower>()
  readonly #taken = new Map<Readable, bigint>()

  constructor(partitions: readonly Readable[]) {
    this.#partitions = partitions
  }

  join(reader: Reader): Follower {
    const follower = new Follower(this, reader)
    this.#members.push(follower)
    this.wake()
    return follower
  }

  leave(follower: Follower): void {
    this.#members.splice(this.#members.indexOf(follower), 1)
    for (const [partition, holder] of this.#holder) {
      if (holder !== follower) continue
      this.#holder.delete(partition)
      // Whoever comes next may begin elsewhere.
      this.#taken.delete(partition)
    }
    this.wake()
  }

  wake(): void {
    for (const member of this.#members) member.wake()
  }

  /** The partitions that are this member's by right; it may have to wait until another lets go. */
  share(follower: Follower): Readable[] {
    const place = this.#members.indexOf(follower)
    return this.#partitions.filter((_, i) => i % this.#members.length === place)
  }

  claim(partition: Readable, follower: Follower): boolean {
    if (this.#holder.has(partition)) return false
    this.#holder.set(partition, follower)
    return true
  }

  release(partition: Readable): void {
    this.#holder.delete(partition)
    this.wake()
  }

  taken(partition: Readable, next: bigint): void {
    this.#taken.set(partition, next)
    for (const member of this.#members) member.checkSettled()
  }

  /** Where every partition that holds anything ends now. */
  ends(): Map<Readable, bigint> {
    const filled = this.#partitions.filter(({ first, next }) => next > first)
    return new Map(filled.map((partition) => [partition, partition.next]))
  }

  reached(ends: Map<Readable, bigint>): boolean {
    return [...ends].every(([partition, end]) => (this.#taken.get(partition) ?? -1n) >= end)
  }

  async stop(): Promise<void> {
    await Promise.all(this.#members.slice().map((member) => member.stop()))
  }
}

interface Settling {
  ends: Map<Readable, bigint>
  done: () => void
  failed: (reason: unknown) => void
}

/** One reader on its way. */
export class Follower implements Following {
  readonly ended: Promise<void>
  readonly #group: Group
  readonly #reader: Reader
  readonly #stop = new AbortController()
  /** The partitions in hand and the next offset to take of each. */
  readonly #held = new Map<Readable, bigint>()
  /** Partitions whose batch was not taken: they wait, the others go on. */
  readonly #resting = new Map<Readable, { pauseMs: number; over: boolean }>()
  #settling: Settling[] = []
  #over: LogError | undefined
  #woken = false
  #wake: () => void = () => undefined

  constructor(group: Group, reader: Reader) {
    this.#group = group
    this.#reader = reader
    this.ended = this.#run().then(
      () => this.#end(new LogError('LOG_CLOSED', 'Following was stopped before all was taken.')),
      (reason) => {
        this.#end(reason)
        throw reason
      },
    )
  }

  settled(): Promise<void> {
    return new Promise((done, failed) => {
      if (this.#over) return failed(this.#over)
      this.#settling.push({ ends: this.#group.ends(), done, failed })
      this.checkSettled()
    })
  }

  async stop(): Promise<void> {
    this.#stop.abort()
    this.wake()
    // Whoever waits for the reason asks `ended`; stopping something that ended by itself is no error.
    await this.ended.catch(() => undefined)
  }

  wake(): void {
    this.#woken = true
    this.#wake()
  }

  checkSettled(): void {
    this.#settling = this.#settling.filter(({ ends, done }) => {
      const reached = this.#group.reached(ends)
      if (reached) done()
      return !reached
    })
  }

  async #run(): Promise<void> {
    // Begins in the next turn: the group must know its member first.
    await undefined
    while (!this.#stop.signal.aborted) {
      this.#woken = false
      await this.#share()
      if ((await this.#takeRound()) || this.#woken) continue
      await new Promise<void>((wake) => {
        this.#wake = wake
      })
    }
  }

  /** Lets go of what is now another's, and takes up what is free and one's own. */
  async #share(): Promise<void> {
    const mine = this.#group.share(this)
    for (const partition of this.#held.keys())
      if (!mine.includes(partition)) {
        this.#held.delete(partition)
        this.#resting.delete(partition)
        this.#group.release(partition)
      }
    for (const partition of mine) {
      if (this.#held.has(partition) || !this.#group.claim(partition, this)) continue
      const from = await this.#insist(() => this.#reader.from(partition.topic, partition.partition))
      if (from === undefined) return
      assertHolds(partition, from)
      this.#held.set(partition, from)
      this.#group.taken(partition, from)
    }
  }

  /** One batch of every partition in hand that does not rest; false when there was nothing. */
  async #takeRound(): Promise<boolean> {
    let any = false
    for (const [partition, from] of this.#held) {
      if (this.#stop.signal.aborted) return any
      if (from >= partition.next || this.#resting.get(partition)?.over === false) continue
      const batch = await partition.read(from, BATCH_RECORDS)
      try {
        await this.#reader.take(batch)
      } catch {
        this.#rest(partition)
        continue
      }
      any = true
      this.#resting.delete(partition)
      const next = from + BigInt(batch.length)
      this.#held.set(partition, next)
      this.#group.taken(partition, next)
    }
    return any
  }

  /** Leaves a partition alone for a while, longer each time; the same batch comes again then. */
  #rest(partition: Readable): void {
    const before = this.#resting.get(partition)?.pauseMs ?? FIRST_PAUSE_MS / 2
    const resting = { pauseMs: Math.min(before * 2, LONGEST_PAUSE_MS), over: false }
    this.#resting.set(partition, resting)
    void pause(resting.pauseMs, undefined, { signal: this.#stop.signal }).then(
      () => {
        resting.over = true
        this.wake()
      },
      () => undefined,
    )
  }

  /** Tries until it works, with growing pauses; undefined when stopped meanwhile. */
  async #insist<T>(attempt: () => Promise<T>): Promise<T | undefined> {
    for (let pauseMs = FIRST_PAUSE_MS; ; pauseMs = Math.min(pauseMs * 2, LONGEST_PAUSE_MS)) {
      try {
        return await attempt()
      } catch {
        if (this.#stop.signal.aborted) return undefined
        await pause(pauseMs, undefined, { signal: this.#stop.signal }).catch(() => undefined)
        if (this.#stop.signal.aborted) return undefined
      }
    }
  }

  #end(reason: LogError): void {
    this.#over = reason
    for (const { failed } of this.#settling.splice(0)) failed(reason)
    this.#group.leave(this)
  }
}

function assertHolds({ topic, partition, first, next }: Readable, from: bigint): void {
  if (from >= first && from <= next) return
  const cause =
    from > next
      ? 'the reader is ahead of the log, so this is not the log it has read'
      : 'what the reader still wants is gone'
  throw new LogError(
    'LOG_OUT_OF_RANGE',
    `${topic}/${partition} holds offsets ${first} to ${next - 1n} and the reader wants ${from}: ${cause}.`,
  )
}
