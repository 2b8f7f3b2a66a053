// The whole road through a real Kafka: the invented foundry's reports are published while genealogy takes
// them into a PostgreSQL; then another database takes in what by then waits in Kafka; then a third gets
// the same rows by plain COPY.
// npm run prove takes it in; by itself: node services/run.mjs test/bench/road.bench.ts [days]
import { randomUUID } from 'node:crypto'
import { genealogy } from '../../services/genealogy/consume.ts'
import { readRecord } from '../../services/genealogy/reading.ts'
import { sharedReader } from '../../services/genealogy/shared-reader.ts'
import { type KafkaLog, openKafkaLog } from '../../services/log/kafka/kafka.ts'
import { topicOf, topicsOf } from '../../services/log/topics.ts'
import type { Store } from '../../services/store/connect.ts'
import type { KeptRecord } from '../../services/store/kept-record.ts'
import { makeTestTopics } from '../log/kafka-topics.ts'
import { ownCluster } from '../log/real-broker.ts'
import { newPostgres } from '../log/real-postgres.ts'
import { type Finding, report } from './finding.ts'
import { copyAll, readyRows, timed } from './plain-copy.ts'
import { type Logged, plantRecords } from './plant-records.ts'

const DAYS = 18
const PARTITIONS = 6
const PUBLISHED_AT_ONCE = 500
const AIM = 0.25

/** Throws where there is no Java with Maven, or no PostgreSQL. */
export async function measureRoad(days = DAYS): Promise<Finding[]> {
  const start = await ownCluster({ brokers: 1 })
  const make = await newPostgres
  if (typeof start === 'string') throw new Error(start)
  if (typeof make === 'string') throw new Error(make)
  const logged = plantRecords(days)
  await using open = new AsyncDisposableStack()
  const cluster = await start()
  open.defer(() => cluster.stop())
  const prefix = `bench${randomUUID().slice(0, 8)}.`
  await makeTestTopics(cluster.addresses, topicsOf(prefix), PARTITIONS)
  // Followers of one log share what they have taken: each database has a log of its own.
  const openLog = async () => {
    const log = await openKafkaLog({ brokers: cluster.addresses, topics: topicsOf(prefix) })
    open.defer(() => log.close())
    return log
  }
  const database = async () => {
    const made = await make()
    open.defer(() => made.drop())
    return made.store
  }
  const [growing, waiting, plain] = [await database(), await database(), await database()]
  let records: KeptRecord[] = []
  const whole = await follow(await openLog(), prefix, growing, async (log) => {
    records = await publish(log, prefix, logged)
  })
  const drained = await follow(await openLog(), prefix, waiting, async () => undefined)
  const rows = await readyRows(waiting, records)
  const plainMs = await timed(() => copyAll(plain, rows))
  const lost = await Promise.all([growing, waiting].map((store) => countMissing(store, records)))
  return findingsOf(records.length, { whole, drained, plainMs }, lost)
}

/** From the first batch that came until all that was published is in the database. Unit: ms. */
async function follow(
  log: KafkaLog,
  topicPrefix: string,
  store: Store,
  meanwhile: (log: KafkaLog) => Promise<void>,
): Promise<number> {
  const tell = (line: string) => console.error(line)
  const alone = genealogy({ store, log, topicPrefix, now: Date.now, tell })
  const reader = await sharedReader(alone, { store, cluster: log.cluster })
  const first = Promise.withResolvers<number>()
  const take = reader.take.bind(reader)
  reader.take = (batch) => {
    first.resolve(performance.now())
    return take(batch)
  }
  const following = await log.follow(reader)
  await meanwhile(log)
  await following.settled()
  const ms = performance.now() - (await first.promise)
  await following.stop()
  return ms
}

/** As a spool publishes: in order, some hundred at once, each station for itself. */
async function publish(
  log: KafkaLog,
  prefix: string,
  logged: readonly Logged[],
): Promise<KeptRecord[]> {
  const byStation = Map.groupBy(logged, ({ station }) => station)
  const published = [...byStation].map(async ([station, own]) => {
    const records: KeptRecord[] = []
    for (let at = 0; at < own.length; at += PUBLISHED_AT_ONCE) {
      const some = own.slice(at, at + PUBLISHED_AT_ONCE)
      const places = await log.append(topicOf(station, prefix), some)
      for (const [i, { key, value }] of some.entries())
        records.push(readRecord({ ...places[i]!, key, value }, station, 0))
    }
    return records
  })
  return (await Promise.all(published)).flat()
}

async function countMissing({ pool }: Store, records: readonly KeptRecord[]): Promise<number> {
  const { rows } = await pool.query<{ kept: number }>(
    'select ((select count(*) from statement) + (select count(*) from set_aside))::int as kept',
  )
  return Math.abs(records.length - rows[0]!.kept)
}

interface Took {
  whole: number
  drained: number
  plainMs: number
}

function findingsOf(count: number, took: Took, lost: readonly number[]): Finding[] {
  const events = count.toLocaleString('en')
  const rate = (ms: number) =>
    `${Math.round((1_000 * count) / ms).toLocaleString('en')} events/s, ${(took.plainMs / ms).toFixed(2)} of plain COPY of the same rows`
  return [
    {
      what: `${events} events from publishing until they are in PostgreSQL, through one broker with ${PARTITIONS} partitions a station, all of it on this machine`,
      measured: rate(took.whole),
      limit: '',
      pass: true,
    },
    {
      what: 'the same that wait in Kafka, into a database made anew',
      measured: rate(took.drained),
      limit: `aim ${AIM} of plain COPY`,
      pass: took.plainMs / took.drained >= AIM,
    },
    {
      what: 'lost or doubled on the way, in either database',
      measured: String(lost[0]! + lost[1]!),
      limit: '0',
      pass: lost.every((each) => each === 0),
    },
  ]
}

if (import.meta.main) {
  report(await measureRoad(process.argv[2] ? Number(process.argv[2]) : DAYS))
  process.exit()
}
