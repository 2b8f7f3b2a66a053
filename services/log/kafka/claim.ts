// Taking up a partition: where the reader goes on is asked of the reader, and that the log is still the
// one it has read is asked of the log. Kafka itself notices neither that a topic was made anew nor that
// a broker came back with older disks: it would read on and pass over what is new.
import { setTimeout as pause } from 'node:timers/promises'
import type { PartitionName, Span } from '../log.ts'
import { outOfRange } from '../same-log.ts'
import type { KafkaClient } from './client.ts'
import { nameOf } from './share.ts'

/** A broker that has just woken can say for a moment that a partition is shorter than it is. */
const TRIES = 4
const TRY_AGAIN_MS = 700

/** The span of a partition that holds `from` or ends there. Throws LOG_OUT_OF_RANGE. */
export async function spanHolding(
  place: PartitionName,
  from: bigint,
  spans: (topic: string) => Promise<readonly Span[]>,
  client: KafkaClient,
): Promise<Span> {
  for (let tries = 1; ; tries++) {
    const span = (await spans(place.topic)).find((each) => nameOf(each) === nameOf(place))
    if (span && from >= span.first && from <= span.next) return span
    if (tries === TRIES || (span && from < span.first)) throw outOfRange(place, from, span)
    await pause(TRY_AGAIN_MS)
    client.renew()
  }
}
