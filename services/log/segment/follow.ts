// One reader on its way through the partitions that are its own, one batch at a time. It wakes when
// something is appended; nobody polls.
import { setTimeout as pause } from 'node:timers/promises'
import type { Following, Reader } from '../log.ts'
import { LogError } from '../log-error.ts'
import { assertRecognized, isAlarm, outOfRange } from '../same-log.ts'
import type { Group, Member, Readable } from './group.ts'

const BATCH_RECORDS = 500
const FIRST_PAUSE_MS = 20
const LONGEST_PAUSE_MS = 5_000
/** So often a reader is asked anew where it is: it may have been put back where nothing new comes. */
const ASK_AGAIN_MS = 60_000

interface Settling {
  ends: Map<Readable, bigint>
  done: () => void
  failed: (reason: unknown) => void
}

/** A partition in hand. */
interface Hand {
  /** The next offset to take; absent until the reader has said it. */
  next: bigint | undefined
  /** Something failed, and it is left alone until the pause is over. */
  resting: boolean
  /** How long the last pause was. */
  pauseMs: number
  /** It is not read any more. */
  stopped: boolean
}

/** One reader on its way: a member of its group until it ends. */
export class Follower implements Following, Member {
  readonly ended: Promise<void>
  readonly #group: Group
  readonly #reader: Reader
  readonly #stop = new AbortController()
  readonly #held = new Map<Readable, Hand>()
  #settling: Settling[] = []
  #over: LogError | undefined
  #woken = false
  #wake: () => void = () => undefined

  constructor(group: Group, reader: Reader) {
    this.#group = group
    this.#reader = reader
    group.join(this)
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
    this.#settling = this.#settling.filter(({ ends, done, failed }) => {
      const reached = this.#group.reached(ends)
      if (reached === true) done()
      else if (reached) failed(reached)
      return reached === false
    })
  }

  async #run(): Promise<void> {
    void this.#askAgain()
    while (!this.#stop.signal.aborted) {
      this.#woken = false
      this.#share()
      if ((await this.#round()) || this.#woken) continue
      await new Promise<void>((wake) => {
        this.#wake = wake
      })
    }
  }

  async #askAgain(): Promise<void> {
    const { signal } = this.#stop
    while (!signal.aborted) {
      await pause(ASK_AGAIN_MS, undefined, { signal, ref: false }).catch(() => undefined)
      for (const hand of this.#held.values()) hand.next = undefined
      this.wake()
    }
  }

  /** Lets go of what is now another's, and takes up what is free and one's own. */
  #share(): void {
    const mine = this.#group.share(this)
    for (const partition of this.#held.keys())
      if (!mine.includes(partition)) {
        this.#held.delete(partition)
        this.#group.release(partition)
      }
    for (const partition of mine) {
      if (this.#held.has(partition) || !this.#group.claim(partition, this)) continue
      const fresh = { next: undefined, resting: false, pauseMs: 0, stopped: false }
      this.#held.set(partition, fresh)
    }
  }

  /** One batch of every partition that has one; false when there was nothing. */
  async #round(): Promise<boolean> {
    let any = false
    for (const [partition, hand] of this.#held) {
      if (this.#stop.signal.aborted) return any
      if (hand.resting || hand.stopped) continue
      try {
        const from = hand.next ?? (await this.#claim(partition))
        hand.next = from
        if (from >= partition.next) continue
        hand.next = await this.#take(partition, from)
        hand.pauseMs = 0
        any = true
      } catch (error) {
        this.#failed(partition, hand, error)
      }
    }
    return any
  }

  /** Where the reader goes on, once it is seen that this is the log it has read. */
  async #claim(partition: Readable): Promise<bigint> {
    const from = await this.#reader.from(partition.topic, partition.partition)
    if (from < partition.first || from > partition.next)
      throw outOfRange(partition, from, partition)
    if (from > partition.first && this.#reader.recognizes) {
      const [before] = await partition.read(from - 1n, 1)
      await assertRecognized(this.#reader, before!)
    }
    this.#group.taken(partition, from)
    return from
  }

  /** Answers where it goes on. */
  async #take(partition: Readable, from: bigint): Promise<bigint> {
    const batch = await partition.read(from, BATCH_RECORDS)
    await this.#reader.take(batch)
    const next = from + BigInt(batch.length)
    this.#group.taken(partition, next)
    return next
  }

  /** What does not pass stops the partition; anything else lets it rest, longer each time. */
  #failed(partition: Readable, hand: Hand, error: unknown): void {
    // The reader may have been put back meanwhile, or not know what became of the batch.
    hand.next = undefined
    if (isAlarm(error)) {
      hand.stopped = true
      this.#group.stopped(partition, error)
      this.#reader.stopped?.(partition, error)
      return
    }
    hand.resting = true
    hand.pauseMs = Math.min(Math.max(hand.pauseMs * 2, FIRST_PAUSE_MS), LONGEST_PAUSE_MS)
    void pause(hand.pauseMs, undefined, { signal: this.#stop.signal }).then(
      () => {
        hand.resting = false
        this.wake()
      },
      () => undefined,
    )
  }

  #end(reason: LogError): void {
    this.#over = reason
    for (const { failed } of this.#settling.splice(0)) failed(reason)
    this.#group.leave(this)
  }
}
