// The log on Apache Kafka: what segment.ts promises, on brokers that several processes share.

import type { Entry, Following, Log, LogRecord, Place, Reader, Span } from '../log.ts'
import { LogError } from '../log-error.ts'
import { partitionOf } from '../segment/segment.ts'
import { assertSendable, KafkaAppender } from './append.ts'
import { CALL_MS, closed, KafkaClient, type KafkaPlace, within } from './client.ts'
import { KafkaFollowing } from './follow.ts'
import { KafkaReading } from './read.ts'
import { LocalGroup } from './share.ts'
import { assertSettings, readShapes } from './topics.ts'

export interface KafkaLogOptions extends KafkaPlace {
  topics: readonly string[]
  /** One line for whoever watches: the brokers away or back. */
  tell?: (line: string) => void
}

export interface KafkaLog extends Log {
  /** What these brokers call themselves: another name, another log. */
  readonly cluster: string
}

/**
 * Opens the topics, which must have been made with `npm run topics`. Throws LOG_UNKNOWN_TOPIC,
 * LOG_OTHER_SHAPE when a topic would not keep its records, LOG_FORBIDDEN or LOG_AWAY.
 */
export async function openKafkaLog(options: KafkaLogOptions): Promise<KafkaLog> {
  const { topics, tell = () => undefined } = options
  const client = new KafkaClient(options)
  try {
    const { clusterId } = await client.ask('who they are', (admin) => admin.describeCluster())
    const shapes = await readShapes(client, topics)
    await assertSettings(client, shapes).catch((error) => {
      // A station may write its topic and see nothing more; whoever reads sees to the settings.
      if (!(error instanceof LogError && error.code === 'LOG_FORBIDDEN')) throw error
    })
    const partitions = new Map(shapes.map((shape) => [shape.topic, shape.partitions]))
    return new Kafka(client, clusterId, topics, partitions, tell)
  } catch (error) {
    client.close()
    throw error
  }
}

/** So often it is seen whether topics have grown. */
const LOOK_MS = 10_000

class Kafka implements KafkaLog {
  readonly topics: readonly string[]
  readonly cluster: string
  readonly #client: KafkaClient
  /** By topic. They only grow, which is looked for now and then while something is appended. */
  readonly #partitions: Map<string, number>
  #lookedMs = Date.now()
  readonly #tell: (line: string) => void
  readonly #appender: KafkaAppender
  readonly #reading: KafkaReading
  readonly #groups = new Map<string, LocalGroup>()
  readonly #followings: KafkaFollowing[] = []
  /** What is asked of one topic, by its name, and of all. */
  readonly #spansOf: ReadonlyMap<string, () => Promise<Span[]>>
  readonly #spans: () => Promise<Span[]>
  /** Where partitions began and ended when that was last asked. */
  readonly #known = new Map<string, Span>()
  #closed = false

  constructor(
    client: KafkaClient,
    cluster: string,
    topics: readonly string[],
    partitions: Map<string, number>,
    tell: (line: string) => void,
  ) {
    this.#client = client
    this.cluster = cluster
    this.topics = [...topics]
    this.#partitions = partitions
    this.#tell = tell
    this.#appender = new KafkaAppender(client)
    this.#reading = new KafkaReading(client, topics, 'genealogy')
    this.#spansOf = new Map(topics.map((topic) => [topic, shared(() => this.#askSpans([topic]))]))
    this.#spans = shared(() => this.#askSpans(topics))
  }

  async append(topic: string, entries: readonly Entry[]): Promise<Place[]> {
    const partitions = this.#partitionsOf(topic)
    if (this.#closed) throw closed()
    if (Date.now() > this.#lookedMs + LOOK_MS) void this.#lookForGrowth()
    entries.forEach(assertSendable)
    const parts = Map.groupBy(entries.keys(), (i) => partitionOf(entries[i]!.key, partitions))
    const places: Place[] = []
    const appended = [...parts].map(async ([partition, members]) => {
      const some = members.map((i) => entries[i]!)
      const first = await this.#appender.append(topic, partition, some)
      for (const [n, i] of members.entries())
        places[i] = { topic, partition, offset: first + BigInt(n) }
    })
    // All of them, so that nothing of a refused append is still under way when the caller hears of it.
    for (const outcome of await Promise.allSettled(appended))
      if (outcome.status === 'rejected') throw outcome.reason
    return places
  }

  async read(topic: string, partition: number, from: bigint, most: number): Promise<LogRecord[]> {
    this.#partitionsOf(topic)
    const place = { topic, partition }
    const name = `${topic}/${partition}`
    let span = this.#known.get(name)
    if (!span || from < span.first || from >= span.next) {
      await this.spans()
      span = this.#known.get(name)
    }
    if (!span || from < span.first || from > span.next)
      throw new LogError(
        'LOG_OUT_OF_RANGE',
        span
          ? `${name} holds offsets ${span.first} to ${span.next - 1n}; ${from} is not among them.`
          : `${topic} has no partition ${partition}.`,
      )
    if (from === span.next || most < 1) return []
    return this.#reading.read(place, from, most)
  }

  async spans(): Promise<Span[]> {
    if (this.#closed) throw closed()
    return this.#spans()
  }

  async follow(reader: Reader): Promise<Following> {
    if (this.#closed) throw closed()
    const group = this.#groups.get(reader.group) ?? new LocalGroup()
    this.#groups.set(reader.group, group)
    const following = new KafkaFollowing({
      client: this.#client,
      topics: this.topics,
      group,
      reader,
      spans: () => this.spans(),
      spansOf: (topic) => this.#spansOf.get(topic)!(),
      tell: this.#tell,
    })
    this.#followings.push(following)
    return following
  }

  async close(): Promise<void> {
    if (this.#closed) return
    await Promise.all(this.#followings.map((following) => following.stop()))
    this.#closed = true
    await this.#appender.close()
    this.#reading.close()
    this.#client.close()
  }

  async #askSpans(topics: readonly string[]): Promise<Span[]> {
    const spans = await this.#client.ask('where the partitions end', async (admin) => {
      const asked = topics.map(async (topic) => {
        const offsets = await admin.fetchTopicOffsets(topic)
        const spans = offsets.map(({ partition, low, high }) => {
          return { topic, partition, first: BigInt(low), next: BigInt(high) }
        })
        return spans.sort((a, b) => a.partition - b.partition)
      })
      return (await within(CALL_MS, 'where the partitions end', Promise.all(asked))).flat()
    })
    for (const span of spans) this.#known.set(`${span.topic}/${span.partition}`, span)
    return spans
  }

  /** Whoever appends does not wait for it: a partition more is news for what comes later. */
  async #lookForGrowth(): Promise<void> {
    this.#lookedMs = Date.now()
    const shapes = await readShapes(this.#client, this.topics).catch(() => [])
    for (const { topic, partitions } of shapes)
      this.#partitions.set(topic, Math.max(partitions, this.#partitionsOf(topic)))
  }

  #partitionsOf(topic: string): number {
    const partitions = this.#partitions.get(topic)
    if (partitions) return partitions
    throw new LogError(
      'LOG_UNKNOWN_TOPIC',
      `${topic} is not a topic of this log, which has ${this.topics.join(', ')}.`,
    )
  }
}

/** Those who ask while a question is under way share the next one: each answer is newer than its asking. */
function shared<T>(ask: () => Promise<T>): () => Promise<T> {
  let under: Promise<unknown> = Promise.resolve()
  let next: Promise<T> | undefined
  return () => {
    next ??= under.then(() => {
      const asked = ask()
      under = asked.catch(() => undefined)
      next = undefined
      return asked
    })
    return next
  }
}
