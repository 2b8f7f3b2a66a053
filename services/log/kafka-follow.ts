// Following on Kafka. Where to go on is asked of the reader alone, at every joining and whenever
// anything is out of the ordinary; a partition is read only after the record before that place has been
// recognised, and stops with a named reason where the log is not the one that was read before.
// Whatever happens to the client, the answer is one: a new client.
import { setTimeout as pause } from 'node:timers/promises'
import type { Consumer, EachBatchPayload } from 'kafkajs'
import { assertRecognized, spanHolding } from './kafka-claim.ts'
import { discard, jitter, type KafkaClient, refusalOf, within } from './kafka-client.ts'
import { hold, type OpenConsumer, openConsumer, readFrom, recordsOf } from './kafka-consumer.ts'
import { type LocalGroup, type Member, nameOf } from './kafka-share.ts'
import type { Following, LogRecord, PartitionName, Reader, Span } from './log.ts'
import { LogError } from './log-error.ts'

export interface FollowParts {
  client: KafkaClient
  topics: readonly string[]
  group: LocalGroup
  reader: Reader
  spans(): Promise<Span[]>
  /** One line when the brokers fail, and one when they are back. */
  tell(line: string): void
}

/** A partition in hand. */
interface Held extends PartitionName {
  /** The next offset to take; absent until the partition is claimed. */
  next: bigint | undefined
  /** The record before `next` is still to be recognised. */
  unproved: boolean
  /** Counts claims: one that was overtaken by another does nothing. */
  claim: number
  claiming: boolean
  /** Not by right any more: it goes when the batch in hand is done. */
  leaving: boolean
  /** Not to be claimed before. Unit: ms. */
  notBefore: number
  /** Last taken from or claimed. Unit: ms. */
  heard: number
}

const BATCH_RECORDS = 500
const PARTITION_BYTES = 256 * 1024
const WAIT_MS = 250
const SHARE_MS = 400
const SETTLE_MS = 200
/** A consumer that has heard nothing for so long is replaced. */
const SILENT_MS = 15_000
/** So often an idle partition is claimed anew: it may have been deleted and made again in between. */
const IDLE_MS = 60_000
const FIRST_PAUSE_MS = 20
/** So often in a row a batch is offered at once; then its partition stands aside for the others. */
const OFFERS = 7
const ASIDE_MS = 5_000
const LEAVE_MS = 1_000

interface Settling {
  ends: Span[]
  done: () => void
  failed: (reason: unknown) => void
}

export class KafkaFollowing implements Following, Member {
  readonly ended: Promise<void>
  readonly #parts: FollowParts
  readonly #stop = new AbortController()
  readonly #held = new Map<string, Held>()
  #all: readonly PartitionName[] = []
  #consumer: Consumer | undefined
  /** The batch under way, across clients: a new one waits for what the old one has in hand. */
  #taking: Promise<void> = Promise.resolve()
  #inHand: Held | undefined
  #settling: Settling[] = []
  #over: LogError | undefined
  #fail!: (reason: Error) => void
  #wake: () => void = () => undefined

  constructor(parts: FollowParts) {
    this.#parts = parts
    parts.group.join(this)
    this.ended = this.#run().then(
      () => this.#end(new LogError('LOG_CLOSED', 'Following was stopped before all was taken.')),
      async (reason) => {
        await this.#end(reason)
        throw reason
      },
    )
  }

  async settled(): Promise<void> {
    if (this.#over) throw this.#over
    const ends = (await this.#parts.spans()).filter(({ first, next }) => next > first)
    await new Promise<void>((done, failed) => {
      if (this.#over) return failed(this.#over)
      this.#settling.push({ ends, done, failed })
      this.moved()
      this.wake()
    })
  }

  async stop(): Promise<void> {
    this.#stop.abort()
    this.wake()
    // Whoever waits for the reason asks `ended`; stopping something that ended by itself is no error.
    await this.ended.catch(() => undefined)
  }

  wake(): void {
    this.#wake()
  }

  moved(): void {
    const { group } = this.#parts
    this.#settling = this.#settling.filter(({ ends, done }) => {
      const reached = ends.every((end) => group.hasTaken(end, end.next))
      if (reached) done()
      return !reached
    })
  }

  /** One client after the other, until stopped or until there is a reason that no client cures. */
  async #run(): Promise<void> {
    let away = false
    while (!this.#stop.signal.aborted) {
      try {
        await this.#consume(() => {
          if (away) this.#parts.tell('The brokers answer again.')
          away = false
        })
      } catch (error) {
        const refusal = refusalOf(error)
        if (refusal) throw refusal
        if (!away) this.#parts.tell(`The log is not read (${reasonOf(error)}). Trying again.`)
        away = true
        await jitter(this.#stop.signal)
      }
    }
  }

  /** The life of one client. */
  async #consume(opened: () => void): Promise<void> {
    const failed = Promise.withResolvers<never>()
    failed.promise.catch(() => undefined)
    this.#fail = failed.reject
    await this.#taking
    this.#unclaim()
    this.#all = []
    const { client, topics, reader } = this.#parts
    const open = await openConsumer({
      client,
      topics,
      group: reader.group,
      waitMs: WAIT_MS,
      partitionBytes: PARTITION_BYTES,
      joined: (all) => {
        this.#all = all
        this.#unclaim()
        this.wake()
      },
      wentAstray: () => {
        this.#unclaim()
        this.wake()
      },
      each: (payload) => this.#each(open.consumer, payload),
    })
    this.#consumer = open.consumer
    opened()
    try {
      await Promise.race([open.broken, failed.promise, this.#attend(open)])
    } finally {
      this.#consumer = undefined
      discard(Promise.resolve(open.consumer))
      await this.#taking
    }
  }

  /** Sees again and again that what is ours is in hand and claimed. */
  async #attend({ consumer, silentMs }: OpenConsumer): Promise<void> {
    while (!this.#stop.signal.aborted && consumer === this.#consumer) {
      const woken = new Promise<void>((wake) => {
        this.#wake = wake
      })
      await this.#share()
      this.#claimAll()
      await this.#settleElsewhere()
      if (silentMs() > SILENT_MS && !this.#inHand) throw new Error('the brokers have fallen silent')
      const interval = this.#settling.length > 0 ? SETTLE_MS : SHARE_MS
      await within(interval, 'waking', woken).catch(() => undefined)
    }
  }

  async #share(): Promise<void> {
    const { reader, group } = this.#parts
    if (this.#all.length === 0) return
    const held = [...this.#held.values()]
    // When it cannot be asked, what is in hand stays there: the reader's own fence keeps the peace.
    const mine = reader.share
      ? await reader.share(this.#all, held).catch(() => held)
      : group.share(this, this.#all)
    const names = new Set(mine.map(nameOf))
    for (const each of held) {
      each.leaving = !names.has(nameOf(each))
      if (each.leaving) this.#letGo(each)
    }
    for (const { topic, partition } of mine) {
      const name = nameOf({ topic, partition })
      if (this.#held.has(name) || !group.claim({ topic, partition }, this)) continue
      this.#held.set(name, newlyHeld(topic, partition))
    }
  }

  #letGo(held: Held): void {
    if (this.#inHand === held) return
    this.#hold(held)
    this.#held.delete(nameOf(held))
    this.#parts.group.release(held)
  }

  #hold(held: Held): void {
    held.next = undefined
    held.claim++
    if (this.#consumer) hold(this.#consumer, held)
  }

  /** What is in hand has to be claimed anew. */
  #unclaim(): void {
    for (const held of this.#held.values()) this.#hold(held)
  }

  #claimAll(): void {
    const now = Date.now()
    for (const held of this.#held.values()) {
      if (held.claiming || held === this.#inHand || now < held.notBefore) continue
      if (held.next !== undefined && now - held.heard < IDLE_MS) continue
      this.#hold(held)
      held.claiming = true
      void this.#claim(held)
    }
  }

  async #claim(held: Held): Promise<void> {
    const { reader, spans, client, group } = this.#parts
    const claim = held.claim
    try {
      const from = await reader.from(held.topic, held.partition)
      const { first } = await spanHolding(held, from, spans, client)
      if (held.claim !== claim || !this.#consumer || !this.#held.has(nameOf(held))) return
      held.unproved = from > first && reader.recognizes !== undefined
      held.next = from
      held.heard = Date.now()
      readFrom(this.#consumer, held, held.unproved ? from - 1n : from)
      if (!held.unproved) group.taken(held, from)
    } catch (error) {
      // Anything else passes; it is tried again a moment later.
      if (isAlarm(error)) this.#fail(error)
    } finally {
      held.claiming = false
    }
  }

  async #each(consumer: Consumer, payload: EachBatchPayload): Promise<void> {
    const held = this.#held.get(nameOf(payload.batch))
    if (consumer !== this.#consumer || held?.next === undefined) return
    const { promise, resolve } = Promise.withResolvers<void>()
    this.#taking = promise
    this.#inHand = held
    try {
      await this.#take(held, payload)
    } catch (error) {
      if (isAlarm(error)) this.#fail(error)
      this.#standAside(held)
    } finally {
      this.#inHand = undefined
      resolve()
      if (held.leaving || held.next === undefined) this.wake()
    }
  }

  async #take(held: Held, payload: EachBatchPayload): Promise<void> {
    const claim = held.claim
    let records = recordsOf(payload)
    held.heard = Date.now()
    if (held.unproved) {
      if (records[0]!.offset !== held.next! - 1n) return this.#hold(held)
      await assertRecognized(this.#parts.reader, records[0]!)
      if (held.claim !== claim) return
      held.unproved = false
      this.#parts.group.taken(held, held.next!)
      records = records.slice(1)
      if (records.length === 0) payload.resolveOffset(String(held.next! - 1n))
    }
    for (let at = 0; at < records.length; at += BATCH_RECORDS) {
      const some = records.slice(at, at + BATCH_RECORDS)
      if (this.#stop.signal.aborted || held.leaving || held.claim !== claim) return
      // Only what follows without a gap; anything else is found out by claiming anew.
      if (some[0]!.offset !== held.next) return this.#hold(held)
      await this.#offer(some)
      if (held.claim !== claim) return
      held.next = some.at(-1)!.offset + 1n
      held.heard = Date.now()
      payload.resolveOffset(String(held.next - 1n))
      this.#parts.group.taken(held, held.next)
      // A failure of it shows in the next fetch too.
      await payload.heartbeat().catch(() => undefined)
    }
  }

  /** Offers a batch until it is taken, with growing pauses; throws after some, or when stopped. */
  async #offer(batch: readonly LogRecord[]): Promise<void> {
    for (let [tries, pauseMs] = [1, FIRST_PAUSE_MS]; ; tries++, pauseMs *= 2) {
      try {
        return await this.#parts.reader.take(batch)
      } catch (error) {
        if (this.#stop.signal.aborted || tries === OFFERS) throw error
        await pause(pauseMs, undefined, { signal: this.#stop.signal }).catch(() => undefined)
        if (this.#stop.signal.aborted) throw error
      }
    }
  }

  /** Comes back to it in a while, from where the reader then is. */
  #standAside(held: Held): void {
    this.#hold(held)
    held.notBefore = Date.now() + ASIDE_MS * (0.5 + Math.random())
  }

  /** What no reader of this process has in hand is taken elsewhere: how far, only the reader knows. */
  async #settleElsewhere(): Promise<void> {
    const { reader, group } = this.#parts
    const open = this.#settling.flatMap(({ ends }) => ends)
    for (const end of open) {
      if (group.isHeld(end) || group.hasTaken(end, end.next)) continue
      const next = await reader.from(end.topic, end.partition).catch(() => undefined)
      if (next !== undefined && !group.isHeld(end)) group.taken(end, next)
    }
  }

  async #end(reason: LogError): Promise<void> {
    this.#over = reason
    for (const { failed } of this.#settling.splice(0)) failed(reason)
    this.#parts.group.leave(this)
    const { reader } = this.#parts
    if (!reader.share) return
    await within(LEAVE_MS, 'leaving', reader.share([], [])).catch(() => undefined)
  }
}

function newlyHeld(topic: string, partition: number): Held {
  const state = { unproved: false, claim: 0, claiming: false, leaving: false }
  return { topic, partition, next: undefined, ...state, notBefore: 0, heard: 0 }
}

/** What a person must look at, in contrast to what passes. */
function isAlarm(error: unknown): error is LogError {
  return error instanceof LogError && error.code !== 'LOG_AWAY'
}

function reasonOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}
