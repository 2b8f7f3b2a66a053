// Taking up a partition: where the reader goes on is asked of the reader, and that the log is still the
// one it has read is asked of the log. Kafka itself notices neither that a topic was made anew nor that
// a broker came back with older disks: it would read on and pass over what is new.
import { setTimeout as pause } from 'node:timers/promises'
import type { LogRecord, PartitionName, Reader, Span } from '../log.ts'
import { LogError } from '../log-error.ts'
import type { KafkaClient } from './client.ts'
import { nameOf } from './share.ts'

/** A broker that has just woken can say for a moment that a partition is shorter than it is. */
const TRIES = 4
const TRY_AGAIN_MS = 700

/** The span of a partition that holds `from` or ends there. Throws LOG_OUT_OF_RANGE. */
export async function spanHolding(
  place: PartitionName,
  from: bigint,
  spans: () => Promise<readonly Span[]>,
  client: KafkaClient,
): Promise<Span> {
  for (let tries = 1; ; tries++) {
    const span = (await spans()).find((each) => nameOf(each) === nameOf(place))
    if (span && from >= span.first && from <= span.next) return span
    if (tries === TRIES || (span && from < span.first)) throw outOfRange(place, from, span)
    await pause(TRY_AGAIN_MS)
    client.renew()
  }
}

function outOfRange(place: PartitionName, from: bigint, span: Span | undefined): LogError {
  const name = nameOf(place)
  if (!span) return new LogError('LOG_OUT_OF_RANGE', `${name} is not there any more.`)
  const cause =
    from > span.next
      ? 'the reader is ahead of the log, so this is not the log it has read. Find the log it has read, or make its database anew with "npm run rebuild"'
      : 'what the reader still wants is gone. See that nothing deletes from this topic'
  return new LogError(
    'LOG_OUT_OF_RANGE',
    `${name} holds offsets ${span.first} to ${span.next - 1n} and the reader wants ${from}: ${cause}.`,
  )
}

/** Sees that the record before the reader's place is the one it took there. Throws LOG_DIVERGED. */
export async function assertRecognized(reader: Reader, record: LogRecord): Promise<void> {
  if (await reader.recognizes?.(record)) return
  throw new LogError(
    'LOG_DIVERGED',
    `${nameOf(record)} holds another record at offset ${record.offset} than the one taken from there: this is not the log the database was made from. Nothing was taken in. Find the log it has read, or make the database anew with "npm run rebuild".`,
  )
}
