import { KafkaClient, type KafkaPlace } from '../../services/log/kafka/client.ts'
import { makeTopics } from '../../services/log/kafka/topics.ts'

/** Makes topics as `npm run topics` does. */
export async function makeTestTopics(
  place: KafkaPlace | readonly string[],
  topics: readonly string[],
  partitions: number,
  replicas = 1,
): Promise<void> {
  const client = new KafkaClient('brokers' in place ? place : { brokers: place as string[] })
  try {
    const wanted = topics.map((topic) => ({ topic, partitions, replicas }))
    await makeTopics(client, wanted)
  } finally {
    client.close()
  }
}
