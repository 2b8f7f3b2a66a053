// Whether the log is still the one a reader has read: it must hold the place where the reader goes on,
// and before it the record the reader took there.
import type { LogRecord, PartitionName, Reader, Span } from './log.ts'
import { LogError } from './log-error.ts'

const REMEDY = 'Find the log it has read, or make the database anew with "npm run rebuild"'

/** Sees that the record before the reader's place is the one it took there. Throws LOG_DIVERGED. */
export async function assertRecognized(reader: Reader, record: LogRecord): Promise<void> {
  if (!reader.recognizes || (await reader.recognizes(record))) return
  const { topic, partition, offset } = record
  if ((await reader.from(topic, partition)) !== offset + 1n)
    throw new Error('the reader has gone elsewhere meanwhile')
  throw new LogError(
    'LOG_DIVERGED',
    `${topic}/${partition} holds another record at offset ${offset} than the one taken from there: this is not the log the database was made from. Nothing was taken in. ${REMEDY}.`,
  )
}

/** That a partition does not hold what a reader wants of it; `span` is absent when there is none. */
export function outOfRange(
  { topic, partition }: PartitionName,
  from: bigint,
  span: Pick<Span, 'first' | 'next'> | undefined,
): LogError {
  const name = `${topic}/${partition}`
  if (!span) return new LogError('LOG_OUT_OF_RANGE', `${name} is not there any more.`)
  const cause =
    from > span.next
      ? `the reader is ahead of the log, so this is not the log it has read. ${REMEDY}`
      : 'what the reader still wants is gone. See that nothing deletes from it'
  return new LogError(
    'LOG_OUT_OF_RANGE',
    `${name} holds offsets ${span.first} to ${span.next - 1n} and the reader wants ${from}: ${cause}.`,
  )
}

/** What a person must look at, in contrast to what passes by itself or ends everything. */
export function isAlarm(error: unknown): error is LogError {
  return error instanceof LogError && !NO_ALARMS.has(error.code)
}

const NO_ALARMS: ReadonlySet<string> = new Set(['LOG_AWAY', 'LOG_CLOSED'])
