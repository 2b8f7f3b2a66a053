// The record that grew with the log against the one made anew from it, and against one that heard the same
// in another order: over 200,000 reports of the invented foundry, with the faults and corrections they
// have, and with more corrections and voids, repeats, late ones and unreadable ones put in besides.
// npm run prove takes it in; by itself: node services/run.mjs test/bench/fingerprint.bench.ts [days]
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { genealogy } from '../../services/genealogy/consume.ts'
import { fingerprint } from '../../services/genealogy/fingerprint.ts'
import { rebuild } from '../../services/genealogy/rebuild.ts'
import type { Log } from '../../services/log/log.ts'
import { openSegmentLog } from '../../services/log/segment/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'
import { followThing, nothingFollowed } from '../../services/metal/followed.ts'
import { Reach } from '../../services/metal/reach.ts'
import { type Random, randomOf } from '../../services/plant/random.ts'
import { Snapshot } from '../../services/query/record/snapshot.ts'
import type { Store } from '../../services/store/connect.ts'
import { newPostgres } from '../log/real-postgres.ts'
import { type Finding, fastest, report } from './finding.ts'
import { timed } from './plain-copy.ts'
import { type Logged, plantRecords } from './plant-records.ts'

/** With this many days the foundry reports somewhat more than 200,000 times. */
const DAYS = 73
const LEAST = 200_000
/** Of all records. */
const [REPEATED, LATE, UNREADABLE] = [0.01, 0.01, 0.002]
const [CORRECTED, VOIDED] = [0.005, 0.002]
/** How many records later a late one comes at most. */
const LATEST = 20_000
/** Stops of genealogy on the way. */
const STOPS = 4

export async function measureFingerprint(days = DAYS): Promise<Finding[]> {
  const make = await newPostgres
  if (typeof make === 'string') throw new Error(make)
  await using open = new AsyncDisposableStack()
  const database = async () => {
    const made = await make()
    open.defer(() => made.drop())
    return made.store
  }
  const newLog = async (partitions: number) => {
    const folder = await mkdtemp(join(tmpdir(), 'fingerprint-'))
    open.defer(() => rm(folder, { recursive: true }))
    const log = await openSegmentLog({ folder, topics: topicsOf(), partitions })
    open.defer(() => log.close())
    return log
  }
  const random = randomOf(7, 'fingerprint')
  const records = disturbed(plantRecords(days), random)
  const log = await newLog(4)
  const [grown, again, other] = [await database(), await database(), await database()]
  await grow(log, grown, records)
  const told = await countsIn(grown)
  const rebuildMs = await timed(() => rebuildInto(log, again))
  const shuffledLog = await newLog(2)
  await say(shuffledLog, shuffled(records, random))
  await rebuildInto(shuffledLog, other)
  const prints = [await fingerprint(grown), await fingerprint(again), await fingerprint(other)]
  const count = records.length.toLocaleString('en')
  const same = (print: string) => ({
    measured: print === prints[0] ? `the same, ${print.slice(0, 12)}…` : 'another',
    limit: `the same, over at least ${LEAST.toLocaleString('en')}`,
    pass: print === prints[0] && records.length >= LEAST,
  })
  return [
    {
      what: `fingerprint of a record made anew, against one that grew with ${count} records (${told}) and was stopped ${STOPS} times`,
      ...same(prints[1]!),
    },
    {
      what: 'fingerprint of one that heard them in another order, in other partitions',
      ...same(prints[2]!),
    },
    {
      what: 'making a record anew from a log on this disk',
      measured: `${Math.round((1_000 * records.length) / rebuildMs).toLocaleString('en')} events/s`,
      limit: '',
      pass: true,
    },
    await coldStart(again),
  ]
}

/** A query that has nothing yet: until it has read all and gives its first answer. */
async function coldStart(store: Store): Promise<Finding> {
  const { rows } = await store.pool.query('select count(*)::int as facts from fact')
  const { facts } = rows[0]
  const snapshot = new Snapshot(store)
  const readMs = await timed(() => snapshot.refresh())
  const { view } = snapshot.at()
  const lot = view.book.all('lot-received', view.asOf)[Symbol.iterator]().next().value!.fact.of
  const answerMs = await fastest(1, () => {
    const followed = nothingFollowed()
    followThing(view, followed, lot)
    return new Reach(view, followed).scope({ share: 0.01 })
  })
  return {
    what: `query from nothing over that record, ${facts.toLocaleString('en')} facts`,
    measured: `${(readMs / 1_000).toFixed(1)} s, ${Math.round((1_000 * facts) / readMs).toLocaleString('en')} facts/s; the first answer ${answerMs.toFixed(0)} ms later`,
    limit: '',
    pass: true,
  }
}

/** With repeats, late ones and such that nobody can read; their share is below what counts as a flood. */
function disturbed(records: readonly Logged[], random: Random): Logged[] {
  const moved: { at: number; record: Logged }[] = []
  for (const [at, record] of records.entries()) {
    const late = random.chance(LATE) ? random.between(1, LATEST) : 0
    moved.push({ at: at + late, record })
    if (random.chance(REPEATED)) moved.push({ at: at + random.between(1, LATEST), record })
    if (random.chance(CORRECTED))
      moved.push({ at: at + random.between(1, LATEST), record: corrected(record) })
    if (random.chance(VOIDED))
      moved.push({ at: at + random.between(1, LATEST), record: voided(record) })
    if (random.chance(UNREADABLE))
      moved.push({ at, record: { ...record, value: record.value.slice(0, -9) } })
  }
  return moved.sort((a, b) => a.at - b.at).map(({ record }) => record)
}

/** The same report once more, by its own station, with another weight where it has one. */
function corrected({ station, key, value }: Logged): Logged {
  const event = JSON.parse(Buffer.from(value).toString())
  const { kg } = event.data
  const data = typeof kg === 'number' ? { ...event.data, kg: kg + 1 } : event.data
  const again = { ...event, id: `${event.id}-again`, supersedes: event.id, data }
  return { station, key, value: Buffer.from(JSON.stringify(later(again))) }
}

/** The decision of quality that a report says what was not. */
function voided({ value }: Logged): Logged {
  const { source, id, type, subject, ...event } = JSON.parse(Buffer.from(value).toString())
  const key = source.replace(/\/plant\/([^/]+)\/.*/, '/plant/$1/quality')
  const decision = {
    ...{ specversion: '1.0', id: `void-${id}-${source.split('/').at(-1)}`, source: key },
    ...{ type: 'quality.record-voided.v1', time: event.time, recordedtime: event.recordedtime },
    ...{ partitionkey: key, datacontenttype: 'application/json' },
    data: { event: { source, id, type, subject }, reason: 'reported twice', by: 'QE-1' },
  }
  return { station: 'quality', key, value: Buffer.from(JSON.stringify(later(decision))) }
}

/** Taken in a minute after what it is about. */
function later<Event extends { recordedtime: string }>(event: Event): Event {
  return { ...event, recordedtime: new Date(Date.parse(event.recordedtime) + 60_000).toISOString() }
}

function shuffled<T>(list: readonly T[], random: Random): T[] {
  const order = list.map((item) => ({ item, at: random.between(0, 1) }))
  return order.sort((a, b) => a.at - b.at).map(({ item }) => item)
}

/** Genealogy follows while the log grows, and is stopped and started anew on the way. */
async function grow(log: Log, store: Store, records: readonly Logged[]): Promise<void> {
  const part = Math.ceil(records.length / (STOPS + 1))
  for (let from = 0; from < records.length; from += part) {
    const reader = genealogy({ store, log, now: Date.now, tell: (line) => console.error(line) })
    const following = await log.follow(reader)
    await say(log, records.slice(from, from + part))
    // The last one finishes; the others are stopped wherever they are.
    if (from + part >= records.length) await following.settled()
    await following.stop()
  }
}

/** Runs of one station go in together; their order stays. */
async function say(log: Log, records: readonly Logged[]): Promise<void> {
  for (let at = 0; at < records.length; at += 1_000)
    for (const [station, own] of Map.groupBy(records.slice(at, at + 1_000), (one) => one.station))
      await log.append(station, own)
}

async function rebuildInto(log: Log, store: Store): Promise<void> {
  await rebuild({ log, store, now: Date.now, tell: () => undefined })
}

async function countsIn({ pool }: Store): Promise<string> {
  const { rows } = await pool.query(
    `select (select count(*) from statement)::int as statements,
       (select count(*) from statement where joins_id is not null)::int as corrections,
       (select count(*) - count(distinct (source, id, hash)) from statement)::int as repeats,
       (select count(*) from set_aside)::int as aside`,
  )
  const { statements, corrections, repeats, aside } = rows[0]
  return `${statements} statements, ${corrections} corrections or voids, ${repeats} repeats, ${aside} set aside`
}

if (import.meta.main) {
  report(await measureFingerprint(process.argv[2] ? Number(process.argv[2]) : DAYS))
  process.exit()
}
