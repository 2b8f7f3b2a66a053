// The one road events travel. Two implementations keep its promises: segment.ts (embedded, and every
// door's spool) and kafka.ts. Topics are stations; the key of a record is the source of its event, so
// what one machine said stays in its order.
import type { LogError } from './log-error.ts'

/** A record to write. */
export interface Entry {
  /** CloudEvents source; chooses the partition. */
  key: string
  value: Uint8Array
}

/** Where a record stands. */
export interface Place {
  topic: string
  partition: number
  offset: bigint
}

export interface LogRecord extends Place {
  key: string
  value: Uint8Array
}

/** Of one partition, where it begins and where the next record will stand. */
export interface Span {
  topic: string
  partition: number
  first: bigint
  next: bigint
}

export type PartitionName = Pick<Place, 'topic' | 'partition'>

/**
 * Reads every partition given to it, one batch at a time and each in order.
 * `from` names the first offset wanted; it is asked when a partition is given, and again after a batch
 * was not taken. `take` must not return before the batch is done for good; when it throws, reading goes
 * on from wherever `from` then says.
 */
export interface Reader {
  /** Readers of one group share the partitions; readers of different groups each get all. */
  group: string
  from(topic: string, partition: number): Promise<bigint>
  take(batch: readonly LogRecord[]): Promise<void>
  /**
   * Which partitions are this reader's for now, where processes share them by something outside the
   * log. Asked several times a second, told those it still has in hand; asked for none when it leaves.
   * Absent, the log shares them among the readers it knows itself.
   */
  share?(
    all: readonly PartitionName[],
    held: readonly PartitionName[],
  ): Promise<readonly PartitionName[]>
  /** Whether this is the record it took at this place; asked of the one before `from`. */
  recognizes?(record: LogRecord): Promise<boolean>
  /** Told that nothing more of a partition is read, since a person must look; the others go on. */
  stopped?(place: PartitionName, reason: LogError): void
}

export interface Following {
  /**
   * Resolves when every record appended before the call has been taken; rejects with the reason when
   * one of them stands in a partition that is not read any more.
   */
  settled(): Promise<void>
  /** Finishes the batch in hand, then stops. */
  stop(): Promise<void>
  /** Rejects when following ended by itself, with the reason; never resolves otherwise before stop(). */
  ended: Promise<void>
}

export interface Log {
  readonly topics: readonly string[]
  /** Resolves when the records are durable; all of them go to `topic`, in order. */
  append(topic: string, entries: readonly Entry[]): Promise<Place[]>
  /** Up to `most` records from an offset on; empty at the end. Throws LOG_OUT_OF_RANGE before the first. */
  read(topic: string, partition: number, from: bigint, most: number): Promise<LogRecord[]>
  spans(): Promise<Span[]>
  follow(reader: Reader): Promise<Following>
  close(): Promise<void>
}
