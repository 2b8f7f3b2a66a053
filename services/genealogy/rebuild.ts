// Makes the database anew from the log: the log is what is kept, the database only what follows.
//   npm run rebuild    while nothing follows the log; ends with counts and the fingerprint
// A damaged folder of the embedded database is set aside, and another made.
import { rename } from 'node:fs/promises'
import type { Ms } from '../events/fact.ts'
import { PROJECTION_VERSION } from '../events/projection-version.ts'
import type { Log } from '../log/log.ts'
import { lockFolder } from '../log/segment/folder-lock.ts'
import { openSegmentLog } from '../log/segment/segment.ts'
import { topicsOf } from '../log/topics.ts'
import { type Settings, settings } from '../settings.ts'
import { connect, type DatabasePlace, type Store } from '../store/connect.ts'
import { emptyRecord } from '../store/empty.ts'
import { migrate } from '../store/migrate.ts'
import { recordPlace } from '../store/place.ts'
import { writeSlice } from '../store/write.ts'
import { fingerprint } from './fingerprint.ts'
import { readRecord, stationOf } from './reading.ts'

const BATCH_RECORDS = 1_000
const PROGRESS_MS = 2_000

export interface RebuildParts {
  store: Store
  log: Pick<Log, 'spans' | 'read'>
  topicPrefix?: string
  now(): Ms
  tell(line: string): void
}

export interface Rebuilt {
  records: number
  statements: number
  facts: number
  setAside: number
}

/**
 * Empties the database and reads the whole log into it, as far as it goes now. Bad events do not stop
 * it: they had been judged when they came.
 */
export async function rebuild(parts: RebuildParts): Promise<Rebuilt> {
  const { store, log, now, tell } = parts
  await empty(store)
  const spans = await log.spans()
  const total = spans.reduce((sum, { first, next }) => sum + Number(next - first), 0)
  const rebuilt: Rebuilt = { records: 0, statements: 0, facts: 0, setAside: 0 }
  let told = now()
  for (const { topic, partition, next } of spans) {
    const station = stationOf(topic, parts.topicPrefix)
    for (let from = 0n; from < next; ) {
      const batch = await log.read(topic, partition, from, BATCH_RECORDS)
      const records = batch.map((record) => readRecord(record, station, now()))
      const slice = { topic, partition, projection: PROJECTION_VERSION, records }
      const written = await writeSlice(store, slice)
      from = written.next
      rebuilt.records += batch.length
      rebuilt.statements += written.statements
      rebuilt.facts += written.facts
      rebuilt.setAside += written.setAside
      if (now() < told + PROGRESS_MS) continue
      told = now()
      tell(`${rebuilt.records} of ${total} records read.`)
    }
  }
  return rebuilt
}

async function empty(store: Store): Promise<void> {
  await migrate(store)
  await emptyRecord(store)
}

/** Opens it to be made anew. A folder in which that is not possible is set aside: it may be damaged. */
async function openToRebuild(place: DatabasePlace, tell: (line: string) => void): Promise<Store> {
  if (!('folder' in place)) return connect(place)
  try {
    return await openEmptied(place)
  } catch (error) {
    const aside = `${place.folder}.damaged-${new Date().toISOString().replaceAll(':', '')}`
    await rename(place.folder, aside)
    tell(`${(error as Error).message} It was set aside as ${aside}.`)
    return connect(place)
  }
}

async function openEmptied(place: DatabasePlace): Promise<Store> {
  const store = await connect(place)
  try {
    await empty(store)
    return store
  } catch (error) {
    await store.close().catch(() => undefined)
    throw error
  }
}

async function run(): Promise<void> {
  await using open = new AsyncDisposableStack()
  const { folder, kafka, databaseUrl } = settings
  const topicPrefix = kafka?.topicPrefix ?? ''
  if (!kafka || !databaseUrl) {
    const lock = await lockFolder(folder)
    open.defer(() => lock.release())
  }
  const log = await openLog(settings)
  open.defer(() => log.close())
  const tell = (line: string) => console.log(line)
  const store = await openToRebuild(recordPlace(settings), tell)
  open.defer(() => store.close())
  const startedMs = Date.now()
  const rebuilt = await rebuild({ store, log, topicPrefix, now: Date.now, tell })
  const seconds = (Date.now() - startedMs) / 1_000
  tell(
    `Rebuilt from ${rebuilt.records} records in ${seconds.toFixed(1)} s: ${rebuilt.statements} statements with ${rebuilt.facts} facts, ${rebuilt.setAside} set aside.`,
  )
  tell(`Fingerprint ${await fingerprint(store)}`)
}

async function openLog({ kafka, logFolder, partitions }: Settings): Promise<Log> {
  if (!kafka) return openSegmentLog({ folder: logFolder, topics: topicsOf(), partitions })
  const { openKafkaLog } = await import('../log/kafka/kafka.ts')
  return openKafkaLog({ ...kafka, topics: topicsOf(kafka.topicPrefix) })
}

if (import.meta.main) {
  await run().catch((error) => {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 1
  })
}
