// The topics on the brokers: what must be true of them, seen at every start, and the one place that
// makes them and lets them grow. Nothing else may: a topic made on the side keeps its records a week.
import kafkajs, { type Admin } from 'kafkajs'
import { LogError } from '../log-error.ts'
import { jitter, type KafkaClient } from './client.ts'

export interface TopicShape {
  topic: string
  partitions: number
  replicas: number
}

/** What a log that is kept for good needs; each may be one of these. */
const SETTINGS: Readonly<Record<string, readonly string[]>> = {
  'cleanup.policy': ['delete'],
  'retention.ms': ['-1'],
  'retention.bytes': ['-1'],
  // The others need more than kafkajs has.
  'compression.type': ['producer', 'uncompressed', 'gzip'],
  'message.timestamp.type': ['CreateTime'],
  'unclean.leader.election.enable': ['false'],
}
const LEAST_COPIES = 'min.insync.replicas'
const SEEN_TRIES = 60

/** Partitions and copies of the topics. Throws LOG_UNKNOWN_TOPIC. */
export async function readShapes(
  client: KafkaClient,
  topics: readonly string[],
): Promise<TopicShape[]> {
  const all = await client.ask('what topics there are', (admin) => shapesOf(admin, topics))
  const missing = topics.filter((topic) => !all.some((shape) => shape.topic === topic))
  if (missing.length === 0) return all
  throw new LogError(
    'LOG_UNKNOWN_TOPIC',
    `The brokers have no topic ${missing.join(', ')}, or this user may not see it. Make the topics with "npm run topics".`,
  )
}

/** Throws LOG_OTHER_SHAPE, which names each setting that would lose records or cannot be read. */
export async function assertSettings(
  client: KafkaClient,
  shapes: readonly TopicShape[],
): Promise<void> {
  const faults = await findFaults(client, shapes)
  if (faults.length === 0) return
  throw new LogError(
    'LOG_OTHER_SHAPE',
    `The topics would not keep what is sent: ${faults.join('; ')}.`,
  )
}

/** Each setting that is not as it must be, in words. */
export async function findFaults(
  client: KafkaClient,
  shapes: readonly TopicShape[],
): Promise<string[]> {
  const { resources } = await client.ask('the settings of the topics', (admin) =>
    admin.describeConfigs({
      includeSynonyms: false,
      resources: shapes.map(({ topic }) => ({
        type: kafkajs.ConfigResourceTypes.TOPIC,
        name: topic,
      })),
    }),
  )
  return resources.flatMap(({ resourceName, configEntries }) => {
    const values = new Map(configEntries.map((each) => [each.configName, each.configValue]))
    const replicas = shapes.find(({ topic }) => topic === resourceName)?.replicas ?? 1
    const must = { ...SETTINGS, [LEAST_COPIES]: copiesFor(replicas) }
    return Object.entries(must)
      .filter(([name, allowed]) => !allowed.includes(values.get(name) ?? ''))
      .map(([name, allowed]) => {
        return `${resourceName} has ${name}=${values.get(name)} and must have ${allowed.join(' or ')}`
      })
  })
}

/** Makes the missing ones and gives more partitions to those with fewer; says what was done. */
export async function makeTopics(
  client: KafkaClient,
  wanted: readonly TopicShape[],
): Promise<string[]> {
  const names = wanted.map(({ topic }) => topic)
  const there = await client.ask('what topics there are', (admin) => shapesOf(admin, names))
  const partitionsOf = new Map(there.map(({ topic, partitions }) => [topic, partitions]))
  const missing = wanted.filter(({ topic }) => !partitionsOf.has(topic))
  const small = wanted.filter(({ topic, partitions }) => {
    return (partitionsOf.get(topic) ?? partitions) < partitions
  })
  if (missing.length > 0)
    await client.ask('making topics', (admin) => admin.createTopics({ topics: missing.map(asked) }))
  if (small.length > 0)
    await client.ask('more partitions', (admin) =>
      admin.createPartitions({
        topicPartitions: small.map(({ topic, partitions }) => ({ topic, count: partitions })),
      }),
    )
  await seen(client, wanted)
  return [
    ...missing.map(({ topic, partitions, replicas }) => {
      return `${topic} made, ${partitions} partitions in ${replicas} copies`
    }),
    ...small.map(({ topic, partitions }) => {
      return `${topic} grown from ${partitionsOf.get(topic)} partitions to ${partitions}`
    }),
  ]
}

/** Waits until the brokers show what was made: each hears of it a moment after it has been done. */
async function seen(client: KafkaClient, wanted: readonly TopicShape[]): Promise<void> {
  const names = wanted.map(({ topic }) => topic)
  for (let tries = 0; tries < SEEN_TRIES; tries++) {
    const shapes = await client.ask('what topics there are', (admin) => shapesOf(admin, names))
    const there = new Map(shapes.map(({ topic, partitions }) => [topic, partitions]))
    if (wanted.every(({ topic, partitions }) => (there.get(topic) ?? 0) >= partitions)) return
    await jitter()
  }
  throw new LogError('LOG_AWAY', 'The brokers do not show the topics they made. Run it again.')
}

function asked({ topic, partitions, replicas }: TopicShape) {
  const entries = Object.entries(SETTINGS).map(([name, [value]]) => ({ name, value: value! }))
  return {
    topic,
    numPartitions: partitions,
    replicationFactor: replicas,
    configEntries: [...entries, { name: LEAST_COPIES, value: copiesFor(replicas)[0]! }],
  }
}

/** A record counts as stored when it is in so many copies: with three, one broker may be away. */
function copiesFor(replicas: number): string[] {
  if (replicas < 3) return replicas === 2 ? ['1', '2'] : ['1']
  return Array.from({ length: replicas - 2 }, (_, i) => String(i + 2))
}

async function shapesOf(admin: Admin, names: readonly string[]): Promise<TopicShape[]> {
  const listed = new Set(await admin.listTopics())
  const topics = names.filter((name) => listed.has(name))
  if (topics.length === 0) return []
  const metadata = await admin.fetchTopicMetadata({ topics })
  const shapes = metadata.topics.map(({ name, partitions }) => ({
    topic: name,
    partitions: partitions.length,
    replicas: partitions[0]!.replicas.length,
  }))
  return shapes.sort((a, b) => names.indexOf(a.topic) - names.indexOf(b.topic))
}
