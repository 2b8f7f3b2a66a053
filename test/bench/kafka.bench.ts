// Kills stations, genealogy and leaders by the hundred on three brokers and PostgreSQL, and counts what
// was acknowledged, lost and doubled. Exits 1 when anything was.
//   node services/run.mjs test/bench/kafka.bench.ts [KILLS]    210 when not said
import { randomUUID } from 'node:crypto'
import { chaos } from '../log/kafka-chaos.ts'
import { makeTestTopics } from '../log/kafka-topics.ts'
import { ownCluster } from '../log/real-broker.ts'
import { newPostgres } from '../log/real-postgres.ts'

const KILLS = Number(process.argv[2] ?? 210)
const LEADER_KILL_EVERY = 35
const MS_PER_KILL = 6_000

const start = await ownCluster({ brokers: 3 })
const make = await newPostgres
if (typeof start === 'string' || typeof make === 'string') {
  console.error([start, make].filter((each) => typeof each === 'string').join(' '))
  process.exit(1)
}
const cluster = await start()
const database = await make()
try {
  const topicPrefix = `bench${randomUUID().slice(0, 8)}.`
  const place = { brokers: cluster.addresses }
  await makeTestTopics(place, [topicPrefix + 'melt'], 6, 3)
  let leaders = 0
  const count = await chaos({
    ...{ station: place, reader: place, topicPrefix },
    ...{ databaseUrl: database.url, store: database.store },
    ...{ followers: 3, perSecond: 300, kills: KILLS, deadlineMs: KILLS * MS_PER_KILL + 60_000 },
    meanwhile: async (kill) => {
      const turn = kill % LEADER_KILL_EVERY
      const broker = cluster.brokers[Math.floor(kill / LEADER_KILL_EVERY) % 3]!
      if (turn === 5 || turn === 15) console.error(`kill ${kill} of ${KILLS}`)
      if (turn === 5) leaders++
      if (turn === 5) await broker.kill()
      if (turn === 15) await broker.start()
    },
  })
  console.log(JSON.stringify({ ...count, leaderKills: leaders }))
  if (count.lost + count.double + Math.abs(count.massOff) > 0) process.exitCode = 1
} finally {
  await database.drop()
  await cluster.stop()
}
