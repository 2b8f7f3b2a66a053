// Reading any stretch of the log, one after the other, by a consumer that stands still until asked.
import type { Consumer } from 'kafkajs'
import type { LogRecord, PartitionName } from '../log.ts'
import { away, closed, discard, jitter, type KafkaClient, refusalOf, within } from './client.ts'
import { hold, openConsumer, readFrom, recordsOf } from './consumer.ts'

interface Wanted extends PartitionName {
  from: bigint
  found: (records: LogRecord[]) => void
  failed: (reason: unknown) => void
}

const WAIT_MS = 20
const ANSWER_MS = 10_000
const AWAY_MS = 30_000
const IDLE_MS = 5_000
const PARTITION_BYTES = 1024 * 1024

export class KafkaReading {
  readonly #client: KafkaClient
  readonly #topics: readonly string[]
  readonly #group: string
  #consumer: Promise<Consumer> | undefined
  #wanted: Wanted | undefined
  /** What came with the last stretch beyond what was asked for. */
  #left: LogRecord[] = []
  #queue: Promise<unknown> = Promise.resolve()
  #idle: NodeJS.Timeout | undefined
  #closed = false

  constructor(client: KafkaClient, topics: readonly string[], group: string) {
    this.#client = client
    this.#topics = topics
    this.#group = group
  }

  /** Up to `most` records from an offset on that is known to be there. */
  read(place: PartitionName, from: bigint, most: number): Promise<LogRecord[]> {
    const reading = this.#queue.then(() => this.#read(place, from, most))
    this.#queue = reading.catch(() => undefined)
    return reading
  }

  close(): void {
    this.#closed = true
    this.#wanted?.failed(closed())
    this.#rest()
  }

  async #read(place: PartitionName, from: bigint, most: number): Promise<LogRecord[]> {
    const { topic, partition } = place
    const at = this.#left.findIndex((record) => record.offset === from)
    const [first] = this.#left
    const known = at >= 0 && first!.topic === topic && first!.partition === partition
    const records = known ? this.#left.slice(at) : await this.#fetch(place, from)
    this.#left = records.slice(most)
    return records.slice(0, most)
  }

  async #fetch(place: PartitionName, from: bigint): Promise<LogRecord[]> {
    const until = Date.now() + AWAY_MS
    for (;;) {
      try {
        if (this.#closed) throw closed()
        clearTimeout(this.#idle)
        this.#consumer ??= this.#open()
        const consumer = await this.#consumer
        return await within(ANSWER_MS, 'a read', this.#ask(consumer, { ...place, from }))
      } catch (error) {
        this.#rest()
        const refusal = refusalOf(error)
        if (refusal) throw refusal
        if (Date.now() > until) throw away(this.#client.brokers, `a read of ${place.topic}`, error)
        await jitter()
      } finally {
        this.#wanted = undefined
        this.#idle = setTimeout(() => this.#rest(), IDLE_MS).unref()
      }
    }
  }

  #ask(consumer: Consumer, wanted: PartitionName & { from: bigint }): Promise<LogRecord[]> {
    return new Promise((found, failed) => {
      this.#wanted = { ...wanted, found, failed }
      readFrom(consumer, wanted, wanted.from)
    })
  }

  async #open(): Promise<Consumer> {
    let open: Consumer | undefined
    const { consumer, broken } = await openConsumer({
      client: this.#client,
      group: `${this.#group}-read`,
      topics: this.#topics,
      waitMs: WAIT_MS,
      partitionBytes: PARTITION_BYTES,
      joined: () => {
        if (open && this.#wanted) readFrom(open, this.#wanted, this.#wanted.from)
      },
      wentAstray: () => this.#wanted?.failed(new Error('the records asked for are not there')),
      each: async (payload) => {
        const { topic, partition, messages } = payload.batch
        if (open) hold(open, { topic, partition })
        const wanted = this.#wanted
        if (wanted?.topic !== topic || wanted.partition !== partition) return
        if (BigInt(messages[0]!.offset) !== wanted.from) return wanted.failed(new Error('astray'))
        try {
          wanted.found(recordsOf(payload))
        } catch (error) {
          wanted.failed(error)
        }
      },
    })
    open = consumer
    broken.catch((reason) => {
      this.#rest()
      this.#wanted?.failed(reason)
    })
    return consumer
  }

  #rest(): void {
    clearTimeout(this.#idle)
    discard(this.#consumer)
    this.#consumer = undefined
  }
}
