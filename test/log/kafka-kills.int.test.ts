import { randomUUID } from 'node:crypto'
import { expect, test } from 'vitest'
import type { KafkaPlace } from '../../services/log/kafka-client.ts'
import { type ChaosCount, chaos } from './kafka-chaos.ts'
import { makeTestTopics } from './kafka-topics.ts'
import { withCluster } from './real-broker.ts'
import { onPostgres } from './real-postgres.ts'

const KILLS = Number(process.env.KAFKA_KILLS ?? 20)
/** A quiet machine of two cores needs a third of it. */
const DEADLINE_MS = Number(process.env.KAFKA_KILLS_MS ?? 120_000)
const [FOLLOWERS, PARTITIONS] = [3, 6]

withCluster('Processes on three brokers', { brokers: 3 }, (cluster) => {
  test(`lose and double nothing in ${KILLS} kills, a leader among them`, {
    timeout: DEADLINE_MS + 30_000,
  }, async ({ skip }) => {
    const database = await onPostgres(skip)
    const { place, topicPrefix } = await newTopics()
    const [leader] = cluster().brokers
    const meanwhile = async (kill: number) => {
      if (kill === Math.ceil(KILLS / 4)) await leader!.kill()
      if (kill === Math.ceil(KILLS / 2)) await leader!.start()
    }
    try {
      const count = await chaos({
        ...{ station: place, reader: place, topicPrefix, meanwhile },
        ...{ databaseUrl: database.url, store: database.store },
        ...{ followers: FOLLOWERS, perSecond: 300, kills: KILLS, deadlineMs: DEADLINE_MS },
      })
      expectWhole(count)
    } finally {
      await database.drop()
    }
  })

  test('who all read every partition at once double nothing, however they are killed', {
    timeout: DEADLINE_MS + 30_000,
  }, async ({ skip }) => {
    const database = await onPostgres(skip)
    const { place, topicPrefix } = await newTopics()
    try {
      const count = await chaos({
        ...{ station: place, reader: place, topicPrefix, rivals: true },
        ...{ databaseUrl: database.url, store: database.store },
        ...{ followers: FOLLOWERS, perSecond: 300, kills: 5, deadlineMs: DEADLINE_MS },
      })
      expectWhole(count)
    } finally {
      await database.drop()
    }
  })

  async function newTopics(): Promise<{ place: KafkaPlace; topicPrefix: string }> {
    const topicPrefix = `k${randomUUID().slice(0, 8)}.`
    const place = { brokers: cluster().addresses }
    await makeTestTopics(place, [topicPrefix + 'melt'], PARTITIONS, 3)
    return { place, topicPrefix }
  }
})

function expectWhole(count: ChaosCount): void {
  console.log(count)
  const { lost, double, massOff } = count
  expect({ lost, double, massOff }).toEqual({ lost: 0, double: 0, massOff: 0 })
  expect(count.acknowledged).toBeGreaterThan(100)
}
