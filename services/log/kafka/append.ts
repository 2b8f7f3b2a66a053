// Appending to Kafka. What waits for one partition goes out in one send of that partition alone: a
// send over several brokers can be acknowledged by kafkajs without being stored, when one of them
// fails while another has answered. A producer that refused a send once is never used again: it would
// number the next records like the refused ones, and the broker would take them for a repetition and
// acknowledge them unstored. So a record may stand twice, never less than once.
import type { Producer } from 'kafkajs'
import type { Entry } from '../log.ts'
import { LogError } from '../log-error.ts'
import {
  away,
  CALL_MS,
  closed,
  discard,
  jitter,
  type KafkaClient,
  refusalOf,
  within,
} from './client.ts'

interface Waiting {
  entries: readonly Entry[]
  since: number
  done: (first: bigint) => void
  failed: (reason: LogError) => void
}

interface Lane {
  topic: string
  partition: number
  waiting: Waiting[]
  working: Promise<void> | undefined
}

/** Kafka's own limit for what is sent at once is 1 MiB, with what it adds to each record. */
const SEND_BYTES = 900_000
const SEND_RECORDS = 5_000
const RECORD_EXTRA_BYTES = 40
/** So long it is tried before whoever appends is told that the outcome is not known. */
const AWAY_MS = 30_000
/** How long a broker waits for the others before it says that it has not stored enough copies. */
const COPIES_MS = 3_000

export class KafkaAppender {
  readonly #client: KafkaClient
  readonly #lanes = new Map<string, Lane>()
  #producer: Promise<Producer> | undefined
  #closed = false

  constructor(client: KafkaClient) {
    this.#client = client
  }

  /** Resolves with the offset of the first when all are stored on as many brokers as the topic asks. */
  append(topic: string, partition: number, entries: readonly Entry[]): Promise<bigint> {
    return new Promise((done, failed) => {
      if (this.#closed) return failed(closed())
      const name = `${topic}/${partition}`
      const lane = this.#lanes.get(name) ?? { topic, partition, waiting: [], working: undefined }
      this.#lanes.set(name, lane)
      lane.waiting.push({ entries, since: Date.now(), done, failed })
      lane.working ??= this.#work(lane)
    })
  }

  /** Takes nothing more in, once what waits is stored or given up. */
  async close(): Promise<void> {
    this.#closed = true
    await Promise.all([...this.#lanes.values()].map(({ working }) => working))
    discard(this.#producer)
    this.#producer = undefined
  }

  async #work(lane: Lane): Promise<void> {
    // Appends of the same turn share the first send too.
    await undefined
    while (lane.waiting.length > 0) {
      const group = nextGroup(lane.waiting)
      try {
        let offset = await this.#send(
          lane,
          group.flatMap(({ entries }) => entries),
        )
        lane.waiting.splice(0, group.length)
        for (const { entries, done } of group) {
          done(offset)
          offset += BigInt(entries.length)
        }
      } catch (error) {
        const refusal = refusalOf(error) ?? this.#givenUp(lane, error)
        // All that wait behind go too: they must not overtake what may be sent again.
        if (refusal) for (const { failed } of lane.waiting.splice(0)) failed(refusal)
        else await jitter()
      }
    }
    lane.working = undefined
  }

  #givenUp({ topic, waiting }: Lane, error: unknown): LogError | undefined {
    if (Date.now() < waiting[0]!.since + AWAY_MS) return undefined
    return away(this.#client.brokers, `an append to ${topic}`, error)
  }

  /** One send of one partition; resolves with the offset of its first record. */
  async #send({ topic, partition }: Lane, entries: readonly Entry[]): Promise<bigint> {
    const current = this.#connected()
    try {
      const producer = await current
      const messages = entries.map(({ key, value }) => ({
        key,
        value: Buffer.from(value.buffer, value.byteOffset, value.byteLength),
        partition,
      }))
      const sending = producer.send({ topic, messages, acks: -1, timeout: COPIES_MS })
      const stored = await within(CALL_MS, 'a send', sending)
      const offset = stored.find((each) => each.partition === partition)?.baseOffset
      if (stored.length !== 1 || stored[0]!.errorCode !== 0 || !/^\d+$/.test(offset ?? ''))
        throw new Error(`the send to ${topic}/${partition} was acknowledged without being stored`)
      return BigInt(offset!)
    } catch (error) {
      if (this.#producer === current) {
        this.#producer = undefined
        discard(current)
      }
      throw error
    }
  }

  #connected(): Promise<Producer> {
    this.#producer ??= this.#newProducer()
    return this.#producer
  }

  async #newProducer(): Promise<Producer> {
    const producer = this.#client.kafka.producer({
      idempotent: true,
      maxInFlightRequests: 1,
      allowAutoTopicCreation: false,
      metadataMaxAge: 10_000,
      // Chosen by us, so that no retry with other metadata can choose anew.
      createPartitioner:
        () =>
        ({ message }) =>
          message.partition!,
    })
    producer.on(producer.events.REQUEST_TIMEOUT, ({ payload }) => this.#client.slow(payload.broker))
    try {
      // One whose connecting failed would go on without counting its records.
      await within(CALL_MS, 'connecting', producer.connect())
      return producer
    } catch (error) {
      discard(Promise.resolve(producer))
      throw error
    }
  }
}

/** Throws LOG_TOO_LARGE for what no send can hold. */
export function assertSendable(entry: Entry): void {
  const bytes = bytesOf(entry)
  if (bytes <= SEND_BYTES) return
  throw new LogError(
    'LOG_TOO_LARGE',
    `A record of ${bytes} bytes does not fit: key and value together may have ${SEND_BYTES - RECORD_EXTRA_BYTES}.`,
  )
}

function bytesOf({ key, value }: Entry): number {
  return Buffer.byteLength(key) + value.length + RECORD_EXTRA_BYTES
}

/** What goes out at once: appends whole, from the front, as many as fit; at least one. */
function nextGroup(waiting: readonly Waiting[]): Waiting[] {
  let [bytes, records] = [0, 0]
  const full = waiting.findIndex(({ entries }, i) => {
    for (const entry of entries) bytes += bytesOf(entry)
    records += entries.length
    return i > 0 && (bytes > SEND_BYTES || records > SEND_RECORDS)
  })
  return waiting.slice(0, full < 0 ? waiting.length : full)
}
