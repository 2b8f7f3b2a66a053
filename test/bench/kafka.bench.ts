// Kills stations, genealogy and leaders by the hundred on three brokers and PostgreSQL, and counts what
// was acknowledged, lost and doubled.
// npm run prove may take it in; by itself: node test/bench/kafka.bench.ts [kills]
import { randomUUID } from 'node:crypto'
import { type ChaosCount, chaos } from '../log/kafka-chaos.ts'
import { makeTestTopics } from '../log/kafka-topics.ts'
import { ownCluster } from '../log/real-broker.ts'
import { newPostgres } from '../log/real-postgres.ts'
import { type Finding, report } from './finding.ts'

const KILLS = 210
/** Rounds of kills, and in which of them the leader goes and comes back. */
const LEADER_KILL_EVERY = 18
const [DOWN_AT, UP_AT] = [3, 8]
const MS_PER_KILL = 6_000
const CATCH_UP_MS = 60_000

/** Throws where there is no Java with Maven, or no PostgreSQL. */
export async function measureKafka(kills = KILLS): Promise<Finding[]> {
  const start = await ownCluster({ brokers: 3 })
  const make = await newPostgres
  if (typeof start === 'string') throw new Error(start)
  if (typeof make === 'string') throw new Error(make)
  const cluster = await start()
  const database = await make()
  try {
    const topicPrefix = `bench${randomUUID().slice(0, 8)}.`
    const place = { brokers: cluster.addresses }
    await makeTestTopics(place, [topicPrefix + 'melt'], 6, 3)
    let leaders = 0
    const count = await chaos({
      ...{ station: place, reader: place, topicPrefix, kills },
      ...{ databaseUrl: database.url, store: database.store },
      ...{ followers: 3, perSecond: 300, deadlineMs: kills * MS_PER_KILL + CATCH_UP_MS },
      meanwhile: async (round) => {
        const broker = cluster.brokers[Math.floor(round / LEADER_KILL_EVERY) % 3]!
        if (round % LEADER_KILL_EVERY === DOWN_AT) {
          leaders++
          await broker.kill()
        }
        if (round % LEADER_KILL_EVERY === UP_AT) await broker.start()
      },
    })
    return findingsOf(count, leaders)
  } finally {
    await database.drop()
    await cluster.stop()
  }
}

function findingsOf(count: ChaosCount, leaders: number): Finding[] {
  const told = (what: string, measured: string) => ({ what, measured, limit: '', pass: true })
  const none = (what: string, measured: number) => {
    return { what, measured: String(measured), limit: '0', pass: measured === 0 }
  }
  return [
    told(
      `${count.kills} processes and ${leaders} leaders killed, events acknowledged`,
      count.acknowledged.toLocaleString('en'),
    ),
    told('records in the log that say what another says', count.duplicates.toLocaleString('en')),
    none('acknowledged events lost', count.lost),
    none('events in force twice, or rows that no record accounts for', count.double),
    none('kg in force away from what was reported', count.massOff),
    told('longest time nothing was taken though something waited', `${count.longestStandMs} ms`),
    told('all taken after the last kill', `${count.caughtUpMs} ms`),
  ]
}

if (import.meta.main) {
  report(await measureKafka(process.argv[2] ? Number(process.argv[2]) : KILLS))
  process.exit()
}
