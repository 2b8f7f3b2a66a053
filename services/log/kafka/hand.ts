// The partitions that one reader has in hand, and taking them up: where the reader goes on is asked of
// the reader, and the partition is read only after the record before that place was recognised.
import type { Consumer } from 'kafkajs'
import type { PartitionName, Reader, Span } from '../log.ts'
import type { LogError } from '../log-error.ts'
import { isAlarm } from '../same-log.ts'
import { spanHolding } from './claim.ts'
import type { KafkaClient } from './client.ts'
import { hold, readFrom } from './consumer.ts'
import { type LocalGroup, type Member, nameOf } from './share.ts'

export interface HandParts {
  client: KafkaClient
  group: LocalGroup
  reader: Reader
  /** Of one topic. */
  spansOf(topic: string): Promise<Span[]>
}

/** A partition in hand. */
export interface Held extends PartitionName {
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
  /** A person must look: it is not read any more. */
  stopped: boolean
}

/** So often an idle partition is claimed anew: it may have been deleted and made again in between. */
const IDLE_MS = 60_000
const ASIDE_MS = 5_000

export class Hand {
  readonly #parts: HandParts
  readonly #member: Member
  readonly #held = new Map<string, Held>()
  #consumer: Consumer | undefined
  /** The one whose batch is being taken: it is neither let go nor claimed meanwhile. */
  busy: Held | undefined

  constructor(parts: HandParts, member: Member) {
    this.#parts = parts
    this.#member = member
  }

  /** From now on this consumer reads for it, from claims to come. */
  use(consumer: Consumer | undefined): void {
    this.#consumer = consumer
    if (!consumer) this.unclaim()
  }

  uses(consumer: Consumer): boolean {
    return consumer === this.#consumer
  }

  get(place: PartitionName): Held | undefined {
    return this.#held.get(nameOf(place))
  }

  /** Lets go of what is another's now, and takes up what is free and ours. */
  async share(all: readonly PartitionName[]): Promise<void> {
    const { reader, group } = this.#parts
    if (all.length === 0) return
    const held = [...this.#held.values()]
    // When it cannot be asked, what is in hand stays there: the reader's own fence keeps the peace.
    const mine = reader.share
      ? await reader.share(all, held).catch(() => held)
      : group.share(this.#member, all)
    const names = new Set(mine.map(nameOf))
    for (const each of held) {
      each.leaving = !names.has(nameOf(each))
      if (each.leaving) this.#letGo(each)
    }
    for (const place of mine) {
      const name = nameOf(place)
      if (this.#held.has(name) || !group.claim(place, this.#member)) continue
      this.#held.set(name, newlyHeld(place))
    }
  }

  /** Claims what is in hand and not claimed, or idle for long. */
  claimAll(): void {
    const now = Date.now()
    for (const held of this.#held.values()) {
      if (held.stopped || held.claiming || held === this.busy || now < held.notBefore) continue
      if (held.next !== undefined && now - held.heard < IDLE_MS) continue
      this.hold(held)
      held.claiming = true
      void this.#claim(held)
    }
  }

  /** Nothing more of it is read until it is claimed anew. */
  hold(held: Held): void {
    held.next = undefined
    held.claim++
    if (this.#consumer) hold(this.#consumer, held)
  }

  /** Comes back to it in a while, from where the reader then is. */
  standAside(held: Held): void {
    this.hold(held)
    held.notBefore = Date.now() + ASIDE_MS * (0.5 + Math.random())
  }

  /** Nothing more of it is read at all: the reader is told why, and the others go on. */
  stop(held: Held, reason: LogError): void {
    this.hold(held)
    if (held.stopped) return
    held.stopped = true
    this.#parts.group.stopped(held, reason)
    this.#parts.reader.stopped?.(held, reason)
  }

  stopTopic(topic: string, reason: LogError): void {
    for (const held of this.#held.values()) if (held.topic === topic) this.stop(held, reason)
  }

  /** All that is in hand has to be claimed anew. */
  unclaim(): void {
    for (const held of this.#held.values()) this.hold(held)
  }

  #letGo(held: Held): void {
    if (this.busy === held) return
    this.hold(held)
    this.#held.delete(nameOf(held))
    this.#parts.group.release(held)
  }

  async #claim(held: Held): Promise<void> {
    const { reader, spansOf, client, group } = this.#parts
    const claim = held.claim
    try {
      const from = await reader.from(held.topic, held.partition)
      const { first } = await spanHolding(held, from, spansOf, client)
      if (held.claim !== claim || !this.#consumer || !this.#held.has(nameOf(held))) return
      held.unproved = from > first && reader.recognizes !== undefined
      held.next = from
      held.heard = Date.now()
      readFrom(this.#consumer, held, held.unproved ? from - 1n : from)
      if (!held.unproved) group.taken(held, from)
    } catch (error) {
      // Anything else passes; it is tried again a moment later.
      if (isAlarm(error) && held.claim === claim) this.stop(held, error)
    } finally {
      held.claiming = false
    }
  }
}

function newlyHeld({ topic, partition }: PartitionName): Held {
  const state = { unproved: false, claim: 0, claiming: false, leaving: false, stopped: false }
  return { topic, partition, next: undefined, ...state, notBefore: 0, heard: 0 }
}
