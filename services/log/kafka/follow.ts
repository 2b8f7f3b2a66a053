// Following on Kafka: partitions are shared, claimed and read one batch at a time, and stop with a named
// reason where the log is not the one that was read before. Whatever else happens to the client, the
// answer is one: a new client, and everything claimed anew.
import { setTimeout as pause } from 'node:timers/promises'
import type { Consumer, EachBatchPayload } from 'kafkajs'
import type { Following, LogRecord, PartitionName, Span } from '../log.ts'
import { LogError } from '../log-error.ts'
import { assertRecognized, isAlarm } from '../same-log.ts'
import { discard, isTopicMissing, jitter, refusalOf, within } from './client.ts'
import { type OpenConsumer, openConsumer, recordsOf } from './consumer.ts'
import { Hand, type HandParts, type Held } from './hand.ts'
import { Settling } from './settling.ts'
import type { Member } from './share.ts'

export interface FollowParts extends HandParts {
  topics: readonly string[]
  spans(): Promise<Span[]>
  /** One line when the brokers fail, and one when they are back. */
  tell(line: string): void
}

/** Taken at once where so much waits: each batch is one transaction, and waits for a disk once. */
const BATCH_RECORDS = 2_000
const PARTITION_BYTES = 1024 * 1024
const WAIT_MS = 250
const SHARE_MS = 400
const SETTLE_MS = 200
/** A consumer that has heard nothing for so long is replaced. */
const SILENT_MS = 15_000
const FIRST_PAUSE_MS = 20
/** So often in a row a batch is offered at once; then its partition stands aside for the others. */
const OFFERS = 7
const LEAVE_MS = 1_000

export class KafkaFollowing implements Following, Member {
  readonly ended: Promise<void>
  readonly #parts: FollowParts
  readonly #hand: Hand
  readonly #settling: Settling
  readonly #stop = new AbortController()
  #all: readonly PartitionName[] = []
  /** Topics that were deleted: no client can be opened on them. */
  readonly #gone = new Set<string>()
  /** The batch under way, across clients: a new one waits for what the old one has in hand. */
  #taking: Promise<void> = Promise.resolve()
  #wake: () => void = () => undefined

  constructor(parts: FollowParts) {
    this.#parts = parts
    this.#hand = new Hand(parts, this)
    this.#settling = new Settling(parts.group)
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
    const waiting = this.#settling.wait(await this.#parts.spans())
    this.wake()
    await waiting
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
    this.#settling.check()
  }

  /** One client after the other, until stopped or until there is a reason that no client cures. */
  async #run(): Promise<void> {
    let away = false
    const opened = () => {
      if (away) this.#parts.tell('The brokers answer again.')
      away = false
    }
    while (!this.#stop.signal.aborted) {
      try {
        await this.#consume(opened)
      } catch (error) {
        const refusal = refusalOf(error) ?? (await this.#lookForTopics(error))
        if (refusal) throw refusal
        if (!away) this.#parts.tell(`The log is not read (${reasonOf(error)}). Trying again.`)
        away = true
        await jitter(this.#stop.signal)
      }
    }
  }

  /** Leaves out topics that are not there any more; answers why, when none is left. */
  async #lookForTopics(error: unknown): Promise<LogError | undefined> {
    if (!isTopicMissing(error)) return undefined
    for (const topic of this.#topics) {
      const reason = await this.#parts.spansOf(topic).then(() => undefined, refusalOf)
      if (reason?.code !== 'LOG_UNKNOWN_TOPIC') continue
      this.#gone.add(topic)
      this.#hand.stopTopic(topic, reason)
      if (this.#topics.length === 0) return reason
    }
    return undefined
  }

  get #topics(): string[] {
    return this.#parts.topics.filter((topic) => !this.#gone.has(topic))
  }

  /** The life of one client. */
  async #consume(opened: () => void): Promise<void> {
    this.#all = []
    const open = await openConsumer({
      client: this.#parts.client,
      topics: this.#topics,
      group: this.#parts.reader.group,
      waitMs: WAIT_MS,
      partitionBytes: PARTITION_BYTES,
      joined: (all) => {
        this.#all = all
        this.#claimAnew()
      },
      wentAstray: () => this.#claimAnew(),
      each: (payload) => this.#each(open.consumer, payload),
    })
    this.#hand.use(open.consumer)
    opened()
    try {
      await Promise.race([open.broken, this.#attend(open)])
    } finally {
      this.#hand.use(undefined)
      discard(Promise.resolve(open.consumer))
      await this.#taking
    }
  }

  #claimAnew(): void {
    this.#hand.unclaim()
    this.wake()
  }

  /** Sees again and again that what is ours is in hand and claimed. */
  async #attend({ consumer, silentMs }: OpenConsumer): Promise<void> {
    while (!this.#stop.signal.aborted && this.#hand.uses(consumer)) {
      const woken = new Promise<void>((wake) => {
        this.#wake = wake
      })
      await this.#hand.share(this.#all)
      if (!this.#hand.uses(consumer)) return
      this.#hand.claimAll()
      await this.#settling.lookElsewhere(this.#parts.reader)
      if (silentMs() > SILENT_MS && !this.#hand.busy)
        throw new Error('the brokers have fallen silent')
      const interval = this.#settling.isAsked ? SETTLE_MS : SHARE_MS
      await within(interval, 'waking', woken).catch(() => undefined)
    }
  }

  async #each(consumer: Consumer, payload: EachBatchPayload): Promise<void> {
    const held = this.#hand.get(payload.batch)
    if (!this.#hand.uses(consumer) || held?.next === undefined) return
    const { promise, resolve } = Promise.withResolvers<void>()
    this.#taking = promise
    this.#hand.busy = held
    try {
      await this.#take(held, payload)
    } catch (error) {
      if (isAlarm(error)) this.#hand.stop(held, error)
      else this.#hand.standAside(held)
    } finally {
      this.#hand.busy = undefined
      resolve()
      if (held.leaving || held.next === undefined) this.wake()
    }
  }

  async #take(held: Held, payload: EachBatchPayload): Promise<void> {
    const { group } = this.#parts
    const claim = held.claim
    let records = recordsOf(payload)
    held.heard = Date.now()
    if (held.unproved) {
      if (records[0]!.offset !== held.next! - 1n) return this.#hand.hold(held)
      await assertRecognized(this.#parts.reader, records[0]!)
      if (held.claim !== claim) return
      held.unproved = false
      group.taken(held, held.next!)
      records = records.slice(1)
      payload.resolveOffset(String(held.next! - 1n))
    }
    for (let at = 0; at < records.length; at += BATCH_RECORDS) {
      const some = records.slice(at, at + BATCH_RECORDS)
      if (this.#stop.signal.aborted || held.leaving || held.claim !== claim) return
      // Only what follows without a gap; anything else is found out by claiming anew.
      if (some[0]!.offset !== held.next) return this.#hand.hold(held)
      await this.#offer(some)
      if (held.claim !== claim) return
      held.next = some.at(-1)!.offset + 1n
      held.heard = Date.now()
      payload.resolveOffset(String(held.next - 1n))
      group.taken(held, held.next)
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

  async #end(reason: LogError): Promise<void> {
    this.#settling.end(reason)
    this.#parts.group.leave(this)
    const { reader } = this.#parts
    if (!reader.share) return
    await within(LEAVE_MS, 'leaving', reader.share([], [])).catch(() => undefined)
  }
}

function reasonOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error)
}
