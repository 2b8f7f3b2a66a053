// Genealogy as one of several processes on one log: the partitions are shared by leases in the
// database, and the log must be the one that the database was made from.
import type { LogRecord, PartitionName, Reader } from '../log/log.ts'
import { LogError } from '../log/log-error.ts'
import type { Store } from '../store/connect.ts'
import { noteFollowedLog } from '../store/followed-log.ts'
import { Leases } from '../store/lease.ts'

export interface SharedParts {
  store: Store
  /** The name the log's brokers have for themselves. */
  cluster: string
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
  return new Shared(reader, store)
}

class Shared implements Reader {
  readonly group: string
  readonly #reader: Reader
  readonly #leases: Leases

  constructor(reader: Reader, store: Store) {
    this.group = reader.group
    this.#reader = reader
    this.#leases = new Leases(store, reader.group)
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
    return (await this.#reader.recognizes?.(record)) ?? true
  }

  stopped(place: PartitionName, reason: LogError): void {
    this.#reader.stopped?.(place, reason)
  }
}
