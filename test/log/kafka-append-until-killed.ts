// A station that reports without end, in groups, and says on its output what is acknowledged. Its
// argument: JSON of ReportingOrder. The other half of kafka-chaos.ts.
import { writeSync } from 'node:fs'
import { setTimeout as pause } from 'node:timers/promises'
import type { KafkaPlace } from '../../services/log/kafka/client.ts'
import { openKafkaLog } from '../../services/log/kafka/kafka.ts'
import { reportOf } from './kafka-reports.ts'

export interface ReportingOrder {
  place: KafkaPlace
  topic: string
  /** Of the first report; what was sent and not acknowledged is sent again, as a spool does. */
  first: number
  perSecond: number
}

const GROUPS_A_SECOND = 20

const order = JSON.parse(process.argv[2]!) as ReportingOrder
const log = await openKafkaLog({ ...order.place, topics: [order.topic] })
const size = Math.ceil(order.perSecond / GROUPS_A_SECOND)
let stopping = false
process.on('SIGTERM', () => {
  stopping = true
})
for (let number = order.first; !stopping; ) {
  const started = Date.now()
  const reports = Array.from({ length: size }, (_, i) => reportOf(number + i))
  try {
    await log.append(order.topic, reports)
  } catch (error) {
    if (!(error as Error).message.includes('gave no answer')) throw error
    continue
  }
  number += size
  writeSync(1, `${number}\n`)
  await pause(Math.max(0, 1_000 / GROUPS_A_SECOND - (Date.now() - started)))
}
await log.close()
process.exit(0)
