import { randomUUID } from 'node:crypto'
import kafkajs from 'kafkajs'
import { beforeEach, expect, test } from 'vitest'
import { openKafkaLog } from '../../services/log/kafka.ts'
import { KafkaClient } from '../../services/log/kafka-client.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { runTopics } from '../../services/log/topics-command.ts'
import { settingsFrom } from '../../services/settings.ts'
import { withBroker } from './real-broker.ts'

withBroker('npm run topics', (broker) => {
  let prefix: string
  let lines: string[]

  beforeEach(() => {
    prefix = `c${randomUUID().slice(0, 8)}.`
    lines = []
  })

  test('makes the topics of all stations once, and they keep everything for good', async () => {
    expect(await topics(2)).toBe(true)
    expect(lines).toHaveLength(10)
    expect(lines[0]).toBe(`${prefix}receive made, 2 partitions in 1 copies`)
    expect(await topics(2)).toBe(true)
    expect(lines).toEqual(['9 topics are as they must be.'])
    const log = await open()
    const spans = await log.spans()
    await log.close()
    expect(spans).toHaveLength(18)
    expect(spans.every(({ first, next }) => first === 0n && next === 0n)).toBe(true)
  })

  test('lets topics grow and never shrink', async () => {
    await topics(1)
    expect(await topics(3)).toBe(true)
    expect(lines).toContain(`${prefix}melt grown from 1 partitions to 3`)
    expect(await topics(2)).toBe(true)
    expect(lines).toContain(
      `${prefix}receive has 3 partitions and keeps them: a topic cannot shrink.`,
    )
  })

  test('names a setting that would lose records, and no log opens on it', async () => {
    await topics(1)
    await setRetention(`${prefix}pour`, '604800000')
    expect(await topics(1)).toBe(false)
    expect(lines).toEqual([
      `${prefix}pour has retention.ms=604800000 and must have -1. Set it with kafka-configs.`,
    ])
    await expect(open()).rejects.toMatchObject({ code: 'LOG_OTHER_SHAPE' })
  })

  test('is named by a log that finds no topics', async () => {
    await expect(open()).rejects.toMatchObject({
      code: 'LOG_UNKNOWN_TOPIC',
      message: expect.stringContaining('npm run topics'),
    })
  })

  test('says where to give the brokers when none are given', async () => {
    const settings = settingsFrom({})
    await expect(runTopics(settings, () => undefined)).rejects.toThrow('HEAT_TO_PAN_BROKERS')
  })

  test('gives up by name where nobody answers', { timeout: 60_000 }, async () => {
    const nobody = { brokers: ['127.0.0.1:9'], topics: topicsOf(prefix) }
    await expect(openKafkaLog(nobody)).rejects.toMatchObject({ code: 'LOG_AWAY' })
  })

  function topics(partitions: number): Promise<boolean> {
    lines = []
    const settings = settingsFrom({
      HEAT_TO_PAN_BROKERS: broker().addresses.join(),
      HEAT_TO_PAN_TOPIC_PREFIX: prefix,
      HEAT_TO_PAN_PARTITIONS: String(partitions),
    })
    return runTopics(settings, (line) => lines.push(line))
  }

  const open = () => openKafkaLog({ brokers: broker().addresses, topics: topicsOf(prefix) })

  async function setRetention(topic: string, value: string): Promise<void> {
    const client = new KafkaClient({ brokers: broker().addresses })
    await client.ask('a setting', (admin) =>
      admin.alterConfigs({
        validateOnly: false,
        resources: [
          {
            type: kafkajs.ConfigResourceTypes.TOPIC,
            name: topic,
            configEntries: [{ name: 'retention.ms', value }],
          },
        ],
      }),
    )
    client.close()
  }
})
