import kafkajs from 'kafkajs'
import { beforeAll, expect, onTestFinished, test } from 'vitest'
import { genealogy } from '../../services/genealogy/consume.ts'
import { sharedReader } from '../../services/genealogy/shared-reader.ts'
import { KafkaAppender } from '../../services/log/kafka/append.ts'
import { KafkaClient, type KafkaPlace } from '../../services/log/kafka/client.ts'
import { openKafkaLog } from '../../services/log/kafka/kafka.ts'
import { reportOf } from './kafka-reports.ts'
import { makeTestTopics } from './kafka-topics.ts'
import { withCluster } from './real-broker.ts'
import { onPostgres } from './real-postgres.ts'

const users = { admin: 'admin-1', melt: 'melt-1', pour: 'pour-1', genealogy: 'genealogy-1' }
const [MELT, POUR] = ['foundry.melt', 'foundry.pour']

withCluster('Brokers that ask who comes', { brokers: 1, users }, (cluster) => {
  const as = (user: keyof typeof users, password: string = users[user]): KafkaPlace => ({
    brokers: cluster().addresses,
    login: { user, password },
  })

  beforeAll(async () => {
    await makeTestTopics(as('admin'), [MELT, POUR], 2)
    const client = new KafkaClient(as('admin'))
    await client.ask('rights', (admin) => admin.createAcls({ acl: RIGHTS }))
    client.close()
  })

  test('let a station write to its own topic and to no other', async () => {
    const log = await openKafkaLog({ ...as('melt'), topics: [MELT] })
    onTestFinished(() => log.close())
    expect(await log.append(MELT, [reportOf(1)])).toMatchObject([{ topic: MELT }])
    await expect(openKafkaLog({ ...as('melt'), topics: [POUR] })).rejects.toMatchObject({
      code: 'LOG_UNKNOWN_TOPIC',
    })
    const client = new KafkaClient(as('melt'))
    const appender = new KafkaAppender(client)
    await expect(appender.append(POUR, 0, [reportOf(2)])).rejects.toMatchObject({
      code: 'LOG_FORBIDDEN',
    })
    await appender.close()
    client.close()
    expect(await recordsIn(POUR)).toBe(0)
  })

  test('let genealogy read everything and write nothing', async () => {
    const log = await openKafkaLog({ ...as('genealogy'), topics: [MELT, POUR] })
    onTestFinished(() => log.close())
    expect((await log.spans()).map(({ topic }) => topic)).toEqual([MELT, MELT, POUR, POUR])
    await expect(log.append(MELT, [reportOf(3)])).rejects.toMatchObject({ code: 'LOG_FORBIDDEN' })
  })

  test.for([
    ['a wrong password', () => as('melt', 'guessed')],
    ['an unknown name', () => ({ ...as('melt'), login: { user: 'nobody', password: 'x' } })],
  ] as const)('turn away %s by name', async ([, place]) => {
    await expect(openKafkaLog({ ...place(), topics: [MELT] })).rejects.toMatchObject({
      code: 'LOG_FORBIDDEN',
    })
  })

  test('carry what is forged, and genealogy sets it aside', async ({ skip }) => {
    const database = await onPostgres(skip)
    onTestFinished(() => database.drop())
    const { store } = database
    const pour = await openKafkaLog({ ...as('pour'), topics: [POUR] })
    onTestFinished(() => pour.close())
    // The station pour says what only melt can have seen: its own topic gives it away.
    await pour.append(POUR, [reportOf(4)])
    const log = await openKafkaLog({ ...as('genealogy'), topics: [MELT, POUR] })
    onTestFinished(() => log.close())
    const topicPrefix = 'foundry.'
    const alone = genealogy({ store, log, topicPrefix, now: Date.now, tell: () => undefined })
    const reader = await sharedReader(alone, { store, cluster: log.cluster })
    const following = await log.follow(reader)
    await following.settled()
    await following.stop()
    const { rows: said } = await store.pool.query('select topic from statement')
    expect(said).toEqual([{ topic: MELT }])
    const { rows: aside } = await store.pool.query('select topic, class, reason from set_aside')
    expect(aside).toMatchObject([{ topic: POUR, class: 'FORGED' }])
    expect(aside[0].reason).toContain('is not of the station pour it came by')
  })

  async function recordsIn(topic: string): Promise<number> {
    const log = await openKafkaLog({ ...as('admin'), topics: [topic] })
    const spans = await log.spans()
    await log.close()
    return spans.reduce((sum, { next }) => sum + Number(next), 0)
  }
})

const { AclOperationTypes, AclPermissionTypes, AclResourceTypes, ResourcePatternTypes } = kafkajs

function right(user: string, operation: number, resource: 'TOPIC' | 'GROUP', name: string) {
  return {
    principal: `User:${user}`,
    host: '*',
    operation,
    permissionType: AclPermissionTypes.ALLOW,
    resourceType: AclResourceTypes[resource],
    resourceName: name,
    resourcePatternType: name.endsWith('.') || resource === 'GROUP' ? PREFIXED : LITERAL,
  }
}

const { PREFIXED, LITERAL } = ResourcePatternTypes
const RIGHTS = [
  right('melt', AclOperationTypes.WRITE, 'TOPIC', MELT!),
  right('pour', AclOperationTypes.WRITE, 'TOPIC', POUR!),
  right('genealogy', AclOperationTypes.READ, 'TOPIC', 'foundry.'),
  right('genealogy', AclOperationTypes.DESCRIBE_CONFIGS, 'TOPIC', 'foundry.'),
  right('genealogy', AclOperationTypes.READ, 'GROUP', 'genealogy'),
]
