import { randomUUID } from 'node:crypto'
import { describe, expect, type TestContext, test, vi } from 'vitest'
import { genealogy } from '../../services/genealogy/consume.ts'
import { sharedReader } from '../../services/genealogy/shared-reader.ts'
import { KafkaClient } from '../../services/log/kafka/client.ts'
import {
  type KafkaLog,
  type KafkaLogOptions,
  openKafkaLog,
} from '../../services/log/kafka/kafka.ts'
import type { Following } from '../../services/log/log.ts'
import type { LogError } from '../../services/log/log-error.ts'
import { reportOf } from './kafka-reports.ts'
import { makeTestTopics } from './kafka-topics.ts'
import { withCluster } from './real-broker.ts'
import { onPostgres, type TestPostgres } from './real-postgres.ts'

withCluster('Genealogy, when the log is another than it was', { brokers: 1 }, (cluster) => {
  const newScene = (context: TestContext) => Scene.make(context, cluster().addresses)

  describe.concurrent('on a broker that stays', { timeout: 60_000 }, () => {
    test('stops by name where a topic was made anew and is shorter', async (context) => {
      const scene = await newScene(context)
      await scene.takeAll(40)
      await scene.remake(10)
      expect(await scene.alarm()).toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
      expect(await scene.taken()).toBe(40)
    })

    test('stops by name where a topic was made anew and is longer', async (context) => {
      const scene = await newScene(context)
      await scene.takeAll(40)
      await scene.remake(90, 1_000)
      expect(await scene.alarm()).toMatchObject({ code: 'LOG_DIVERGED' })
      expect(await scene.taken()).toBe(40)
    })

    test('stops by name where a topic is made anew under its hands', async (context) => {
      const scene = await newScene(context)
      await scene.append(0, 40)
      const following = await scene.follow()
      await following.settled()
      await scene.remake(0)
      expect(await scene.alarm(following)).toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
      expect(await scene.taken()).toBe(40)
    })

    test('stops by name where records that it has not taken are gone', async (context) => {
      const scene = await newScene(context)
      await scene.takeAll(40)
      await scene.append(40, 40)
      await scene.deleteRecords()
      expect(await scene.alarm()).toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
    })

    test('stops by name where records go that it was about to read', async (context) => {
      const scene = await newScene(context)
      await scene.append(0, 40)
      const following = await scene.follow()
      await following.settled()
      const gate = scene.closeGate()
      await scene.append(40, 40)
      await gate.reached
      await scene.append(80, 40)
      await scene.deleteRecords()
      gate.open()
      // kafkajs is at an offset that is gone, and goes on at the end without a word.
      expect(await scene.alarm(following)).toMatchObject({ code: 'LOG_OUT_OF_RANGE' })
    })

    test('does not begin on other brokers than those its database was made from', async (context) => {
      const scene = await newScene(context)
      await scene.takeAll(10)
      await expect(scene.follow('other brokers')).rejects.toMatchObject({ code: 'LOG_DIVERGED' })
    })

    test('stops one partition alone, and takes in what comes to the others', async (context) => {
      const scene = await newScene(context)
      await scene.takeAll(40)
      await scene.forget(0)
      const following = await scene.follow()
      await scene.append(40, 40)
      await expect(following.settled()).rejects.toMatchObject({ code: 'LOG_DIVERGED' })
      await vi.waitFor(async () => expect(await scene.nextOf(1)).toBe(await scene.endOf(1)), 20_000)
      expect([...scene.alarms.keys()]).toEqual(['melt/0'])
    })

    test('goes on with its other topics when one was deleted', async (context) => {
      const scene = await newScene(context)
      const pour = await scene.alsoFollow('pour')
      await scene.append(0, 40)
      const following = await scene.follow()
      await following.settled()
      await pour.delete()
      await vi.waitUntil(() => scene.alarms.size > 0, 50_000)
      expect([...scene.alarms.keys()]).toEqual(['pour/0'])
      await scene.append(40, 40)
      await vi.waitFor(async () => expect(await scene.taken()).toBe(80), 20_000)
    })

    test('is told by name that a topic was deleted', async (context) => {
      const scene = await newScene(context)
      const log = await scene.open({ patienceMs: 1_000 })
      await scene.deleteTopic()
      await expect(log.spans()).rejects.toMatchObject({ code: 'LOG_UNKNOWN_TOPIC' })
    })

    test('goes on where nothing but time has passed', async (context) => {
      const scene = await newScene(context)
      await scene.takeAll(40)
      await scene.append(40, 40)
      await scene.settle()
      expect(await scene.taken()).toBe(80)
    })

    test('takes up partitions that were added, from their beginning', async (context) => {
      const scene = await newScene(context)
      await scene.append(0, 40)
      const following = await scene.follow()
      await following.settled()
      await scene.makeTopic(5)
      await scene.append(40, 80)
      await following.settled()
      expect(await scene.taken()).toBe(120)
      expect(await scene.partitionsTaken()).toBeGreaterThan(2)
    })
  })

  test('stops by name where a broker came back with older disks, and others were sent since', async (context) => {
    const scene = await newScene(context)
    const [broker] = cluster().brokers
    await scene.takeAll(20)
    await broker!.backUp()
    await scene.append(20, 40)
    await scene.settle()
    await broker!.kill()
    await broker!.restore()
    await broker!.start()
    await scene.append(1_000, 90)
    expect(await scene.alarm()).toMatchObject({ code: 'LOG_DIVERGED' })
    expect(await scene.taken()).toBe(60)
  })
})

/** A topic and a database of its own. */
class Scene {
  readonly #brokers: string[]
  readonly #database: TestPostgres
  readonly #context: TestContext
  /** By partition. */
  readonly alarms = new Map<string, LogError>()
  #gate: { reached(): void; opened: Promise<void> } | undefined
  readonly #prefix = `f${randomUUID().slice(0, 8)}.`
  readonly #topic = this.#prefix + 'melt'
  readonly #topics = [this.#topic]

  private constructor(context: TestContext, brokers: string[], database: TestPostgres) {
    this.#context = context
    this.#brokers = brokers
    this.#database = database
  }

  static async make(context: TestContext, brokers: string[]): Promise<Scene> {
    const database = await onPostgres(context.skip)
    context.onTestFinished(() => database.drop())
    const scene = new Scene(context, brokers, database)
    await scene.makeTopic(2)
    return scene
  }

  /** Closed when the test is over. */
  async open(more: Partial<KafkaLogOptions> = {}): Promise<KafkaLog> {
    const log = await openKafkaLog({ brokers: this.#brokers, topics: this.#topics, ...more })
    this.#context.onTestFinished(() => log.close())
    return log
  }

  /** Another topic that is followed too. */
  async alsoFollow(station: string): Promise<{ delete(): Promise<void> }> {
    const topic = this.#prefix + station
    await makeTestTopics(this.#brokers, [topic], 1)
    this.#topics.push(topic)
    return { delete: () => this.deleteTopic(topic) }
  }

  /** What was taken last of a partition becomes another record than the log has. */
  async forget(partition: number): Promise<void> {
    await this.#database.store.pool.query(
      `update statement set hash = repeat('0', 64) where partition = $1 and "offset" =
         (select next_offset - 1 from position where partition = $1)`,
      [partition],
    )
  }

  async nextOf(partition: number): Promise<bigint> {
    const { rows } = await this.#database.store.pool.query(
      'select next_offset as next from position where partition = $1',
      [partition],
    )
    return BigInt(rows[0].next)
  }

  async endOf(partition: number): Promise<bigint> {
    const log = await this.open()
    return (await log.spans())[partition]!.next
  }

  makeTopic(partitions: number): Promise<void> {
    return makeTestTopics(this.#brokers, [this.#topic], partitions)
  }

  async append(first: number, count: number): Promise<void> {
    const log = await this.open({ topics: [this.#topic] })
    const reports = Array.from({ length: count }, (_, i) => reportOf(first + i))
    await log.append(this.#topic, reports)
    await log.close()
  }

  /** Follows until the test is over, or ends by itself. */
  async follow(cluster?: string): Promise<Following> {
    const log = await this.open()
    const { store } = this.#database
    const topicPrefix = this.#prefix
    const alone = genealogy({ store, log, topicPrefix, now: Date.now, tell: () => undefined })
    alone.stopped = ({ topic, partition }, reason) =>
      void this.alarms.set(`${topic.slice(this.#prefix.length)}/${partition}`, reason)
    const take = alone.take.bind(alone)
    alone.take = async (batch) => {
      this.#gate?.reached()
      await this.#gate?.opened
      return take(batch)
    }
    const reader = await sharedReader(alone, { store, cluster: cluster ?? log.cluster })
    return log.follow(reader)
  }

  /** Nothing more is taken until it is opened. */
  closeGate(): { reached: Promise<void>; open(): void } {
    const [reached, opened] = [Promise.withResolvers<void>(), Promise.withResolvers<void>()]
    this.#gate = { reached: reached.resolve, opened: opened.promise }
    return { reached: reached.promise, open: opened.resolve }
  }

  async settle(): Promise<void> {
    const following = await this.follow()
    await following.settled()
    await following.stop()
  }

  async takeAll(count: number): Promise<void> {
    await this.append(0, count)
    await this.settle()
  }

  /** Why the first partition stops that does. */
  async alarm(following?: Following): Promise<LogError | undefined> {
    following ??= await this.follow()
    await vi.waitUntil(() => this.alarms.size > 0, 30_000)
    await following.stop()
    return [...this.alarms.values()][0]
  }

  async remake(count: number, first = 0): Promise<void> {
    await this.deleteTopic()
    await this.makeTopic(2)
    if (count > 0) await this.append(first, count)
  }

  async deleteTopic(topic = this.#topic): Promise<void> {
    await this.#ask(async (admin) => {
      await admin.deleteTopics({ topics: [topic] })
      // Still listed, it would not be made anew.
      await vi.waitFor(async () => expect(await admin.listTopics()).not.toContain(topic))
    })
  }

  async deleteRecords(): Promise<void> {
    const topic = this.#topic
    await this.#ask(async (admin) => {
      await admin.fetchTopicMetadata({ topics: [topic] })
      const partitions = [0, 1].map((partition) => ({ partition, offset: '-1' }))
      await admin.deleteTopicRecords({ topic, partitions })
    })
  }

  async taken(): Promise<number> {
    const { rows } = await this.#database.store.pool.query(
      'select ((select count(*) from statement) + (select count(*) from set_aside))::int as n',
    )
    return rows[0].n
  }

  async partitionsTaken(): Promise<number> {
    const { rows } = await this.#database.store.pool.query(
      'select count(*)::int as n from position',
    )
    return rows[0].n
  }

  async #ask(question: Parameters<KafkaClient['ask']>[1]): Promise<void> {
    const client = new KafkaClient({ brokers: this.#brokers })
    await client.ask('a fault', question)
    client.close()
  }
}
