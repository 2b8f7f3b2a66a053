// A kafkajs consumer as we use it: alone in a group of its own, so that it is given every partition,
// nobody waits for anybody and no offset is ever committed to Kafka. It begins with everything paused;
// whoever uses it says what is read and from where.
import { randomUUID } from 'node:crypto'
import type { Consumer, EachBatchPayload, KafkaMessage } from 'kafkajs'
import type { LogRecord, PartitionName } from '../log.ts'
import { LogError } from '../log-error.ts'
import { CALL_MS, discard, type KafkaClient, REQUEST_MS, within } from './client.ts'

export interface ConsumerOptions {
  client: KafkaClient
  /** What its groups are called, before a part that is never used again. */
  group: string
  topics: readonly string[]
  /** How long a broker may wait for records; also how late a partition is read that was paused. */
  waitMs: number
  partitionBytes: number
  /** Given these partitions, all of them paused and without a position. Called at every joining. */
  joined(all: PartitionName[]): void
  /** kafkajs went to another offset by itself, since what it wanted was not there. */
  wentAstray(): void
  each(payload: EachBatchPayload): Promise<void>
}

export interface OpenConsumer {
  consumer: Consumer
  /** Rejects when it must be replaced; never resolves. */
  broken: Promise<never>
  /** Since it last heard from a broker. Unit: ms. */
  silentMs(): number
}

/** An answer to one of these that does not come means a frozen broker: kafkajs would wait on. */
const MUST_ANSWER = new Set(
  'Fetch Heartbeat Metadata JoinGroup SyncGroup ListOffsets ApiVersions'.split(' '),
)

/** Connects and joins. Throws when that does not work in time; then nothing is left open. */
export async function openConsumer(options: ConsumerOptions): Promise<OpenConsumer> {
  const { client, topics, waitMs } = options
  const consumer = client.kafka.consumer({
    groupId: `${options.group}-${randomUUID()}`,
    sessionTimeout: 30_000,
    heartbeatInterval: 5_000,
    rebalanceTimeout: 3_000,
    maxWaitTimeInMs: waitMs,
    maxBytesPerPartition: options.partitionBytes,
    metadataMaxAge: 10_000,
    allowAutoTopicCreation: false,
  })
  const { promise: broken, reject } = Promise.withResolvers<never>()
  broken.catch(() => undefined)
  const joined = listen(consumer, options, reject)
  let heard = Date.now()
  consumer.on(consumer.events.FETCH, () => {
    heard = Date.now()
  })
  const opening = async () => {
    await consumer.connect()
    // With anything but the beginning, kafkajs that lost its place delivers nothing and says nothing.
    await consumer.subscribe({ topics: [...topics], fromBeginning: true })
    await consumer.run({
      autoCommit: false,
      eachBatchAutoResolve: false,
      partitionsConsumedConcurrently: 1,
      eachBatch: async (payload) => {
        await options.each(payload)
        heard = Date.now()
      },
    })
    await joined
  }
  try {
    await within(2 * CALL_MS, 'joining', Promise.race([opening(), broken]))
    return { consumer, broken, silentMs: () => Date.now() - heard }
  } catch (error) {
    discard(Promise.resolve(consumer))
    throw error
  }
}

/** Resolves at the first joining; whatever means that the consumer is of no more use goes to `broken`. */
function listen(
  consumer: Consumer,
  { client, joined, wentAstray }: ConsumerOptions,
  broken: (reason: Error) => void,
): Promise<void> {
  const { events } = consumer
  consumer.on(events.CRASH, ({ payload }) => broken(payload.error))
  consumer.on(events.REQUEST_TIMEOUT, ({ payload }) => {
    client.slow(payload.broker)
    if (MUST_ANSWER.has(payload.apiName))
      broken(new Error(`${payload.broker} did not answer ${payload.apiName} in ${REQUEST_MS} ms`))
  })
  // We never commit, so a commit is kafkajs writing down that it has lost its place.
  consumer.on(events.REQUEST, ({ payload }) => {
    if (payload.apiName === 'OffsetCommit') wentAstray()
  })
  return new Promise((done) => {
    consumer.on(events.GROUP_JOIN, ({ payload }) => {
      const all = Object.entries(payload.memberAssignment).flatMap(([topic, partitions]) =>
        partitions.map((partition) => ({ topic, partition })),
      )
      // Before the first fetch, which comes in a later turn.
      for (const place of all) hold(consumer, place)
      joined(all)
      done()
    })
  })
}

export function hold(consumer: Consumer, { topic, partition }: PartitionName): void {
  consumer.pause([{ topic, partitions: [partition] }])
}

/** Reads the partition from an offset on. */
export function readFrom(consumer: Consumer, place: PartitionName, from: bigint): void {
  const { topic, partition } = place
  consumer.seek({ topic, partition, offset: String(from) })
  consumer.resume([{ topic, partitions: [partition] }])
}

/** The records of a batch. Throws LOG_CORRUPT when one is missing between them: none of ours ever is. */
export function recordsOf({ batch }: EachBatchPayload): LogRecord[] {
  const { topic, partition, messages } = batch
  const records = messages.map((message) => recordOf({ topic, partition }, message))
  const gap = records.findIndex(({ offset }, i) => offset !== records[0]!.offset + BigInt(i))
  if (gap < 0) return records
  throw new LogError(
    'LOG_CORRUPT',
    `${topic}/${partition} goes on with ${records[gap]!.offset} behind ${records[gap - 1]!.offset}: records between them are gone. See that nothing compacts or deletes this topic.`,
  )
}

const NOTHING = new Uint8Array()

function recordOf(place: PartitionName, { key, value, offset }: KafkaMessage): LogRecord {
  // A record of somebody else's may have neither; as no bytes it is set aside for what it is.
  return { ...place, offset: BigInt(offset), key: key?.toString() ?? '', value: value ?? NOTHING }
}
