import { randomUUID } from 'node:crypto'
import { openKafkaLog } from '../../services/log/kafka.ts'
import { logContract } from '../contract/log-contract.ts'
import { makeTestTopics } from './kafka-topics.ts'
import { withBroker } from './real-broker.ts'

withBroker('A log on a real broker', (broker) => {
  logContract('the log on Kafka', async () => {
    // Few topics: each is four files and a leader on the broker.
    const prefix = `t${randomUUID().slice(0, 8)}.`
    const topics = ['melt', 'pour'].map((station) => prefix + station)
    await makeTestTopics(broker().addresses, topics, 4)
    return {
      topics,
      open: () => openKafkaLog({ brokers: broker().addresses, topics }),
      drop: async () => undefined,
    }
  })
})
