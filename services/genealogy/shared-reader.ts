// Genealogy as one of several processes on one log: the partitions are shared by leases in the
// database, and the log must be the one that the database was made from.
import type { LogRecord, PartitionName, Reader } from '../log/log.ts'
import { LogError } from '../log/log-error.ts'
import type { Store } from '../store/connect.ts'
import { type Kept, noteFollowedLog, readKept } from '../store/followed-log.ts'
import { Leases } from '../store/lease.ts'
import { readRecord, stationOf } from './reading.ts'

export interface SharedParts {
  store: Store
  /** The name the log's brokers have for themselves. */
  cluster: string
  topicPrefix?: string
}

/**
 * The reader, sharing with all others of its group on this database. Throws LOG_DIVERGED when the
 * database was made from another log. Needs the tables: start it behind prepareRecord.
 */
export async function sharedReader(reader: Reader, parts: SharedParts): Promise<Reader> {
  const { store, cluster } = parts
  const followed = await noteFollowedLog(store, cluster)
  if (followed !== undefined && followed !== cluster)
    throw new LogError(
      'LOG_DIVERGED',
      `This database was made from the log of the brokers ${followed}, and these are ${cluster}. Name the right brokers, or make the database anew with "npm run rebuild".`,
    )
  return new Shared(reader, parts)
}

class Shared implements Reader {
  readonly group: string
  readonly #reader: Reader
  readonly #parts: SharedParts
  readonly #leases: Leases

  constructor(reader: Reader, parts: SharedParts) {
    this.group = reader.group
    this.#reader = reader
    this.#parts = parts
    this.#leases = new Leases(parts.store, reader.group)
  }

  from(topic: string, partition: number): Promise<bigint> {
    return this.#reader.from(topic, partition)
  }

  take(batch: readonly LogRecord[]): Promise<void> {
    return this.#reader.take(batch)
  }

  share(all: readonly PartitionName[], held: readonly PartitionName[]): Promise<PartitionName[]> {
    return this.#leases.share(all, held)
  }

  async recognizes(record: LogRecord): Promise<boolean> {
    const kept = await readKept(this.#parts.store.pool, record)
    return kept !== undefined && this.#isOf(record, kept)
  }

  #isOf(record: LogRecord, kept: Kept): boolean {
    if ('bytes' in kept) return Buffer.compare(kept.bytes, record.value) === 0
    const station = stationOf(record.topic, this.#parts.topicPrefix)
    const { outcome } = readRecord(record, station, 0)
    if (!('statement' in outcome)) return false
    const { source, id, hash } = outcome.statement
    return source === kept.source && id === kept.id && hash === kept.hash
  }
}
