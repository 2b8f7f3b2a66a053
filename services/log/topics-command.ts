// npm run topics    makes the topics on the brokers, and lets them grow to HEAT_TO_PAN_PARTITIONS.
// A topic is never made smaller, nor are its settings changed: what is wrong with them is said.
import { type Settings, settings } from '../settings.ts'
import { KafkaClient } from './kafka/client.ts'
import { findFaults, makeTopics, readShapes } from './kafka/topics.ts'
import { topicsOf } from './topics.ts'

const MOST_COPIES = 3

/** Says what was done; false when a topic is not as it must be. */
export async function runTopics(
  { kafka, partitions }: Settings,
  tell: (line: string) => void,
): Promise<boolean> {
  if (!kafka) throw new Error('Say where the brokers are: HEAT_TO_PAN_BROKERS=host:port,…')
  const client = new KafkaClient(kafka)
  try {
    const { brokers } = await client.ask('who they are', (admin) => admin.describeCluster())
    const replicas = kafka.copies ?? (brokers.length < MOST_COPIES ? 1 : MOST_COPIES)
    const topics = topicsOf(kafka.topicPrefix)
    const wanted = topics.map((topic) => ({ topic, partitions, replicas }))
    for (const line of await makeTopics(client, wanted)) tell(line)
    const shapes = await readShapes(client, topics)
    const larger = shapes.find((shape) => shape.partitions > partitions)
    if (larger)
      tell(
        `${larger.topic} has ${larger.partitions} partitions and keeps them: a topic cannot shrink.`,
      )
    const faults = await findFaults(client, shapes)
    for (const fault of faults) tell(`${fault}. Set it with kafka-configs.`)
    if (faults.length === 0) tell(`${shapes.length} topics are as they must be.`)
    return faults.length === 0
  } finally {
    client.close()
  }
}

if (import.meta.main) {
  try {
    if (!(await runTopics(settings, console.log))) process.exitCode = 1
  } catch (error) {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 1
  }
}
