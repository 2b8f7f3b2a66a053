// Follows the log into the database. What a record says goes in with the position behind it; where to
// go on is asked of the database alone, so nothing is lost or doubled whoever stops when.
import type { Ms, Station } from '../events/fact.ts'
import { PROJECTION_VERSION } from '../events/projection-version.ts'
import type { Log, LogRecord, PartitionName, Reader } from '../log/log.ts'
import type { LogError } from '../log/log-error.ts'
import type { Store } from '../store/connect.ts'
import { type Kept, readKept } from '../store/followed-log.ts'
import type { KeptRecord } from '../store/kept-record.ts'
import { readPositions } from '../store/read.ts'
import { noteReadAgain, noteStopped } from '../store/stopped.ts'
import { type Written, writeSlice } from '../store/write.ts'
import { FloodError, FloodGauge } from './flood.ts'
import { readRecord, stationOf } from './reading.ts'

export interface GenealogyParts {
  store: Store
  log: Pick<Log, 'spans'>
  /** Before the station in the name of each topic. */
  topicPrefix?: string
  /** Unit: ms. */
  now(): Ms
  /** One line for whoever watches: alarms, and the database away or back. */
  tell(line: string): void
  /** After each slice that was written. */
  written?(slice: WrittenSlice): void
}

export interface WrittenSlice extends Written {
  topic: string
  partition: number
  /** Those that had not been written before. */
  records: readonly KeptRecord[]
  /** How long it took. */
  seconds: number
}

/** The reader that makes the record. Start it behind prepareRecord, which empties what is outdated. */
export function genealogy(parts: GenealogyParts): Reader {
  return new Genealogy(parts)
}

/** Statements after which the tables of the embedded database are counted again at the latest. */
const MOST_UNCOUNTED = 50_000

class Genealogy implements Reader {
  readonly group = 'genealogy'
  readonly #parts: GenealogyParts
  readonly #gauges = new Map<string, FloodGauge>()
  readonly #stopped = new Map<string, FloodError>()
  /** Up to here a partition is being read again from its beginning: what is bad there is no news. */
  readonly #replayUntil = new Map<string, bigint>()
  #away = false
  /** Statements written since the tables were counted, and how many are let pass. */
  #uncounted = 0
  #countAfter = 500

  constructor(parts: GenealogyParts) {
    this.#parts = parts
  }

  async from(topic: string, partition: number): Promise<bigint> {
    return this.#watched(async () => {
      const next = await nextOf(this.#parts.store, topic, partition)
      if (next === 0n) {
        const spans = await this.#parts.log.spans()
        const span = spans.find((each) => each.topic === topic && each.partition === partition)
        if (span) this.#replayUntil.set(keyOf({ topic, partition }), span.next)
      }
      return next
    })
  }

  async take(batch: readonly LogRecord[]): Promise<void> {
    for (const records of Map.groupBy(batch, keyOf).values()) await this.#takeSlice(records)
  }

  async recognizes(record: LogRecord): Promise<boolean> {
    const kept = await this.#watched(() => readKept(this.#parts.store.pool, record))
    const same = kept !== undefined && this.#isOf(record, kept)
    // It stood still before this start, and what was wrong is put right.
    if (same && !this.#stopped.has(keyOf(record)))
      await this.#watched(() => noteReadAgain(this.#parts.store.pool, record))
    return same
  }

  stopped(place: PartitionName, { code, message }: LogError): void {
    const { topic, partition } = place
    this.#noteStopped(place, code)
    this.#parts.tell(
      `${code}: ${message} Nothing more of ${topic}/${partition} is taken in until a new start; the others go on.`,
    )
  }

  /** For those who answer: they see the log and the record, and not that nothing leads to the other. */
  #noteStopped(place: PartitionName, why: string): void {
    const noted = noteStopped(
      this.#parts.store.pool,
      { ...place, projection: PROJECTION_VERSION },
      why,
    )
    noted.catch((error) =>
      this.#parts.tell(`That ${keyOf(place)} stands still could not be written down: ${error}.`),
    )
  }

  #isOf(record: LogRecord, kept: Kept): boolean {
    if ('bytes' in kept) return Buffer.compare(kept.bytes, record.value) === 0
    const { outcome } = readRecord(record, this.#stationOf(record.topic), 0)
    if (!('statement' in outcome)) return false
    const { source, id, hash } = outcome.statement
    return source === kept.source && id === kept.id && hash === kept.hash
  }

  #stationOf(topic: string): Station {
    return stationOf(topic, this.#parts.topicPrefix)
  }

  async #takeSlice(batch: readonly LogRecord[]): Promise<void> {
    const { topic, partition } = batch[0]!
    const key = keyOf(batch[0]!)
    const stopped = this.#stopped.get(key)
    if (stopped) throw stopped
    const now = this.#parts.now()
    const station = this.#stationOf(topic)
    const records = batch.map((record) => readRecord(record, station, now))
    // Before anything is written, so that the flood is taken in properly once its cause is put right.
    this.#checkFlood(key, records)
    const slice = { topic, partition, projection: PROJECTION_VERSION, records }
    const began = performance.now()
    const written = await this.#watched(() => writeSlice(this.#parts.store, slice))
    await this.#keepStatistics(written.statements)
    const seconds = (performance.now() - began) / 1_000
    const fresh = records.slice(written.dropped)
    this.#parts.written?.({ topic, partition, ...written, records: fresh, seconds })
  }

  /** The embedded database counts its tables only when told to, and plans badly until then. */
  async #keepStatistics(statements: number): Promise<void> {
    if (!this.#parts.store.embedded) return
    this.#uncounted += statements
    if (this.#uncounted < this.#countAfter) return
    await this.#watched(() => this.#parts.store.pool.query('analyze'))
    this.#uncounted = 0
    this.#countAfter = Math.min(2 * this.#countAfter, MOST_UNCOUNTED)
  }

  #checkFlood(key: string, records: readonly KeptRecord[]): void {
    const { topic, partition, offset, taken } = records[0]!
    if (offset < (this.#replayUntil.get(key) ?? 0n)) return
    const gauge = this.#gauges.get(key) ?? new FloodGauge()
    this.#gauges.set(key, gauge)
    const flood = gauge.add(
      taken,
      records.map(({ offset, outcome }) => ({
        offset,
        aside: 'class' in outcome ? outcome.class : undefined,
      })),
    )
    if (!flood) return
    const error = new FloodError(topic, partition, flood)
    this.#stopped.set(key, error)
    this.#noteStopped({ topic, partition }, error.code)
    this.#parts.tell(error.message)
    throw error
  }

  /** Says once when the database fails, and once when it works again; the log redelivers meanwhile. */
  async #watched<Result>(work: () => Promise<Result>): Promise<Result> {
    try {
      const result = await work()
      if (this.#away) this.#parts.tell('The database takes reports in again.')
      this.#away = false
      return result
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error)
      if (!this.#away) this.#parts.tell(`The database takes nothing in (${why}). Trying again.`)
      this.#away = true
      throw error
    }
  }
}

async function nextOf(store: Store, topic: string, partition: number): Promise<bigint> {
  const positions = await readPositions(store.pool)
  const position = positions.find((each) => each.topic === topic && each.partition === partition)
  return position?.next ?? 0n
}

function keyOf({ topic, partition }: { topic: string; partition: number }): string {
  return `${topic}/${partition}`
}
