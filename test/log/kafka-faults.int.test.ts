import { randomUUID } from 'node:crypto'
import { beforeEach, expect, onTestFinished, test } from 'vitest'
import { genealogy } from '../../services/genealogy/consume.ts'
import { sharedReader } from '../../services/genealogy/shared-reader.ts'
import { openKafkaLog } from '../../services/log/kafka.ts'
import { KafkaClient } from '../../services/log/kafka-client.ts'
import type { Following } from '../../services/log/log.ts'
import { reportOf } from './kafka-reports.ts'
import { makeTestTopics } from './kafka-topics.ts'
import { withCluster } from './real-broker.ts'
import { onPostgres, type TestPostgres } from './real-postgres.ts'

withCluster('Genealogy, when the log is another than it was', { brokers: 1 }, (cluster) => {
  let database: TestPostgres
  let topicPrefix: string
  let topic: string

  beforeEach(async ({ skip }) => {
    database = await onPostgres(skip)
    onTestFinished(() => database.drop())
    topicPrefix = `f${randomUUID().slice(0, 8)}.`
    topic = topicPrefix + 'melt'
    await make()
  })

  test('stops by name where a topic was made anew and is shorter', async () => {
    await takeAll(40)
    await remake(10)
    expect(await alarm()).toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
    expect(await taken()).toBe(40)
  })

  test('stops by name where a topic was made anew and is longer', async () => {
    await takeAll(40)
    await remake(90, 1_000)
    expect(await alarm()).toMatchObject({ code: 'LOG_DIVERGED' })
    expect(await taken()).toBe(40)
  })

  test('stops by name where a topic is made anew under its hands', async () => {
    await append(0, 40)
    const { following } = await follow()
    await following.settled()
    await remake(0)
    await expect(following.ended).rejects.toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
    expect(await taken()).toBe(40)
  })

  test('stops by name where records that it has not taken are gone', async () => {
    await takeAll(40)
    await append(40, 40)
    await ask(async (admin) => {
      await admin.fetchTopicMetadata({ topics: [topic] })
      const partitions = [0, 1].map((partition) => ({ partition, offset: '-1' }))
      await admin.deleteTopicRecords({ topic, partitions })
    })
    expect(await alarm()).toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
  })

  test('stops by name where a broker came back with older disks, and others were sent since', async () => {
    const [broker] = cluster().brokers
    await takeAll(20)
    await broker!.backUp()
    await append(20, 40)
    await settle()
    await broker!.kill()
    await broker!.restore()
    await broker!.start()
    expect(await alarm()).toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
    await append(1_000, 90)
    expect(await alarm()).toMatchObject({ code: 'LOG_DIVERGED' })
    expect(await taken()).toBe(60)
  })

  test('does not begin on other brokers than those its database was made from', async () => {
    await takeAll(10)
    const reader = genealogy(parts(await open()))
    const other = { store: database.store, cluster: 'another one', topicPrefix }
    await expect(sharedReader(reader, other)).rejects.toMatchObject({ code: 'LOG_DIVERGED' })
  })

  test('goes on where nothing but time has passed', async () => {
    await takeAll(40)
    await append(40, 40)
    await settle()
    expect(await taken()).toBe(80)
  })

  test('takes up partitions that were added, from their beginning', {
    timeout: 60_000,
  }, async () => {
    await append(0, 40)
    const { following } = await follow()
    await following.settled()
    await makeTestTopics(cluster().addresses, [topic], 5)
    await append(40, 80)
    await following.settled()
    expect(await taken()).toBe(120)
    const { rows } = await database.store.pool.query('select count(*)::int as n from position')
    expect(rows[0].n).toBeGreaterThan(2)
  })

  const make = () => makeTestTopics(cluster().addresses, [topic], 2)

  async function open() {
    const log = await openKafkaLog({ brokers: cluster().addresses, topics: [topic] })
    onTestFinished(() => log.close())
    return log
  }

  function parts(log: Awaited<ReturnType<typeof open>>) {
    return { store: database.store, log, topicPrefix, now: Date.now, tell: () => undefined }
  }

  async function follow(): Promise<{ following: Following; close(): Promise<void> }> {
    const log = await open()
    const { store } = database
    const reader = await sharedReader(genealogy(parts(log)), {
      ...{ store, cluster: log.cluster, topicPrefix },
    })
    return { following: await log.follow(reader), close: () => log.close() }
  }

  async function append(first: number, count: number): Promise<void> {
    const log = await open()
    const reports = Array.from({ length: count }, (_, i) => reportOf(first + i))
    await log.append(topic, reports)
    await log.close()
  }

  async function settle(): Promise<void> {
    const { following, close } = await follow()
    await following.settled()
    await close()
  }

  async function takeAll(count: number): Promise<void> {
    await append(0, count)
    await settle()
  }

  /** Why following ended by itself. */
  async function alarm(): Promise<unknown> {
    const { following, close } = await follow()
    const reason = await following.ended.then(
      () => 'it was stopped',
      (error) => error,
    )
    await close()
    return reason
  }

  async function remake(count: number, first = 0): Promise<void> {
    await ask((admin) => admin.deleteTopics({ topics: [topic] }))
    await make()
    if (count > 0) await append(first, count)
  }

  async function ask(question: Parameters<KafkaClient['ask']>[1]): Promise<void> {
    const client = new KafkaClient({ brokers: cluster().addresses })
    await client.ask('a fault', question)
    client.close()
  }

  async function taken(): Promise<number> {
    const { rows } = await database.store.pool.query(
      'select ((select count(*) from statement) + (select count(*) from set_aside))::int as n',
    )
    return rows[0].n
  }
})
