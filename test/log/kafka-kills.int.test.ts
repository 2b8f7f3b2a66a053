import { randomUUID } from 'node:crypto'
import { expect, onTestFinished, test } from 'vitest'
import type { KafkaPlace } from '../../services/log/kafka/client.ts'
import { openKafkaLog } from '../../services/log/kafka/kafka.ts'
import type { Log } from '../../services/log/log.ts'
import type { Broker } from './broker-cluster.ts'
import { type ChaosCount, chaos } from './kafka-chaos.ts'
import { reportOf } from './kafka-reports.ts'
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
        ...{ followers: FOLLOWERS, perSecond: 300, kills: 4, deadlineMs: DEADLINE_MS },
      })
      expectWhole(count)
    } finally {
      await database.drop()
    }
  })

  test('are answered for every partition while a leader is frozen, and what was answered is there', {
    timeout: DEADLINE_MS,
  }, async () => {
    const { place, topicPrefix } = await newTopics()
    const topic = topicPrefix + 'melt'
    const log = await openKafkaLog({ ...place, topics: [topic] })
    onTestFinished(() => log.close())
    const [, frozen] = cluster().brokers
    const sent = await appendWhile(log, topic, frozen!)
    const held = new Set<number>()
    for (const { partition, first, next } of await log.spans())
      for (let at = first; at < next; ) {
        const records = await log.read(topic, partition, at, 500)
        for (const { value } of records) held.add(numberIn(value))
        at += BigInt(records.length)
      }
    expect(sent.filter((number) => !held.has(number))).toEqual([])
  })

  /** Appends to all partitions at once, freezes a broker, and goes on until three rounds went through. */
  async function appendWhile(log: Log, topic: string, broker: Broker): Promise<number[]> {
    const sent: number[] = []
    try {
      for (let round = 0; round < 6; round++) {
        if (round === 3) broker.freeze()
        const numbers = Array.from({ length: 60 }, (_, i) => round * 60 + i)
        const places = await log.append(topic, numbers.map(reportOf))
        expect(new Set(places.map(({ partition }) => partition)).size).toBeGreaterThan(3)
        sent.push(...numbers)
      }
    } finally {
      broker.thaw()
    }
    return sent
  }

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

function numberIn(value: Uint8Array): number {
  return Number(JSON.parse(Buffer.from(value).toString()).id.slice('tap-'.length))
}
