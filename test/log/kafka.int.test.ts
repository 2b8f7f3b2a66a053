import { randomUUID } from 'node:crypto'
import kafkajs from 'kafkajs'
import { describe, expect, test, vi } from 'vitest'
import { KafkaClient } from '../../services/log/kafka/client.ts'
import { openKafkaLog } from '../../services/log/kafka/kafka.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { runTopics } from '../../services/log/topics-command.ts'
import { settingsFrom } from '../../services/settings.ts'
import { logContract } from '../contract/log-contract.ts'
import { makeTestTopics } from './kafka-topics.ts'
import { withBroker } from './real-broker.ts'

withBroker('A log on a real broker', (broker) => {
  logContract('the log on Kafka', async () => {
    // Few topics: each is four files and a leader on the broker.
    const prefix = newPrefix()
    const topics = ['melt', 'pour'].map((station) => prefix + station)
    await makeTestTopics(broker().addresses, topics, 4)
    return {
      topics,
      open: () => openKafkaLog({ brokers: broker().addresses, topics }),
      drop: async () => undefined,
    }
  })

  describe.concurrent('its topics', () => {
    test('are made once for all stations, and keep everything for good', async () => {
      const prefix = newPrefix()
      const made = await topics(prefix, 2)
      expect(made.good).toBe(true)
      expect(made.lines).toHaveLength(10)
      expect(made.lines[0]).toBe(`${prefix}receive made, 2 partitions in 1 copies`)
      const again = await topics(prefix, 2)
      expect(again).toEqual({ good: true, lines: ['9 topics are as they must be.'] })
      const log = await open(prefix)
      const spans = await log.spans()
      await log.close()
      expect(spans).toHaveLength(18)
      expect(spans.every(({ first, next }) => first === 0n && next === 0n)).toBe(true)
    })

    test('grow and never shrink', async () => {
      const prefix = newPrefix()
      await topics(prefix, 1)
      const grown = await topics(prefix, 3)
      expect(grown.good).toBe(true)
      expect(grown.lines).toContain(`${prefix}melt grown from 1 partitions to 3`)
      const kept = await topics(prefix, 2)
      expect(kept.lines).toEqual([
        `${prefix}receive has 3 partitions and keeps them: a topic cannot shrink.`,
        '9 topics are as they must be.',
      ])
    })

    test('are appended to in all their partitions once they have grown', async () => {
      const prefix = newPrefix()
      await topics(prefix, 1)
      const log = await open(prefix)
      const entries = Array.from({ length: 20 }, (_, i) => ({
        key: `${i}`,
        value: Buffer.from('x'),
      }))
      const partitions = async () =>
        new Set((await log.append(`${prefix}melt`, entries)).map(({ partition }) => partition)).size
      expect(await partitions()).toBe(1)
      await topics(prefix, 3)
      await vi.waitFor(async () => expect(await partitions()).toBe(3), 30_000)
      await log.close()
    })

    test('are not opened with a setting that would lose records, which is named', async () => {
      const prefix = newPrefix()
      await topics(prefix, 1)
      await setRetention(`${prefix}pour`, '604800000')
      // The brokers show it a moment after they have said that it is done.
      await vi.waitFor(async () => {
        const { good, lines } = await topics(prefix, 1)
        expect({ good, lines }).toEqual({
          good: false,
          lines: [
            `${prefix}pour has retention.ms=604800000 and must have -1. Set it with kafka-configs.`,
          ],
        })
      }, 10_000)
      await expect(open(prefix)).rejects.toMatchObject({ code: 'LOG_OTHER_SHAPE' })
    })

    test('are asked for by name when they are missing', async () => {
      await expect(open(newPrefix())).rejects.toMatchObject({
        code: 'LOG_UNKNOWN_TOPIC',
        message: expect.stringContaining('npm run topics'),
      })
    })

    test('cannot be made without brokers, and the setting is named', async () => {
      const settings = settingsFrom({})
      await expect(runTopics(settings, () => undefined)).rejects.toThrow('HEAT_TO_PAN_BROKERS')
    })

    test('are not opened where nobody answers, which is said by name', async () => {
      const nobody = { brokers: ['127.0.0.1:9'], topics: topicsOf(), patienceMs: 1_000 }
      await expect(openKafkaLog(nobody)).rejects.toMatchObject({ code: 'LOG_AWAY' })
    })
  })

  async function topics(prefix: string, partitions: number) {
    const lines: string[] = []
    const settings = settingsFrom({
      HEAT_TO_PAN_BROKERS: broker().addresses.join(),
      HEAT_TO_PAN_TOPIC_PREFIX: prefix,
      HEAT_TO_PAN_PARTITIONS: String(partitions),
    })
    const good = await runTopics(settings, (line) => lines.push(line))
    return { good, lines }
  }

  function open(prefix: string) {
    return openKafkaLog({ brokers: broker().addresses, topics: topicsOf(prefix) })
  }

  async function setRetention(topic: string, value: string): Promise<void> {
    const client = new KafkaClient({ brokers: broker().addresses })
    const configEntries = [{ name: 'retention.ms', value }]
    const resource = { type: kafkajs.ConfigResourceTypes.TOPIC, name: topic, configEntries }
    await client.ask('a setting', (admin) =>
      admin.alterConfigs({ validateOnly: false, resources: [resource] }),
    )
    client.close()
  }
})

const newPrefix = () => `t${randomUUID().slice(0, 8)}.`
