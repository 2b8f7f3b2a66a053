// A genealogy process on Kafka and PostgreSQL. Its argument: JSON of FollowingOrder. It says on its
// output when it follows, and the name of the alarm that stopped it. The other half of kafka-chaos.ts.
import { writeSync } from 'node:fs'
import { genealogy } from '../../services/genealogy/consume.ts'
import { sharedReader } from '../../services/genealogy/shared-reader.ts'
import type { KafkaPlace } from '../../services/log/kafka/client.ts'
import { openKafkaLog } from '../../services/log/kafka/kafka.ts'
import { LogError } from '../../services/log/log-error.ts'
import { connect } from '../../services/store/connect.ts'

export interface FollowingOrder {
  place: KafkaPlace
  topics: string[]
  topicPrefix: string
  databaseUrl: string
  /** Every process has every partition: nothing but the database keeps them apart. */
  rival: boolean
}

const order = JSON.parse(process.argv[2]!) as FollowingOrder
const { topicPrefix } = order
const tell = (line: string) => process.stderr.write(line + '\n')
const store = await connect({ url: order.databaseUrl })
try {
  const log = await openKafkaLog({ ...order.place, topics: order.topics, tell })
  const alone = genealogy({ store, log, topicPrefix, now: Date.now, tell })
  const reader = await sharedReader(alone, { store, cluster: log.cluster })
  if (order.rival) Object.defineProperty(reader, 'share', { value: async (all: unknown) => all })
  const following = await log.follow(reader)
  writeSync(1, 'following\n')
  process.on('SIGTERM', () => void log.close().then(() => process.exit(0)))
  await following.ended
} catch (error) {
  writeSync(1, `alarm ${error instanceof LogError ? error.code : error}\n`)
  process.exit(3)
}
