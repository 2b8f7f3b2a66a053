// Genealogy as a service: follows the log into the database, alone or as one of several processes.
import { setTimeout as pause } from 'node:timers/promises'
import { genealogy, type WrittenSlice } from '../genealogy/consume.ts'
import { prepareRecord } from '../genealogy/prepare.ts'
import { sharedReader } from '../genealogy/shared-reader.ts'
import type { Following, Log, Span } from '../log/log.ts'
import { Prompt } from '../log/prompt.ts'
import { topicsOf } from '../log/topics.ts'
import type { Store } from '../store/connect.ts'
import { noteLevel } from '../store/followed-log.ts'
import { dropOldRecords } from '../store/old-records.ts'
import { traceIn } from '../watch/trace.ts'
import { measureLag, measureSetAside, recordsLeft } from './lag.ts'
import { persist, reasonOf } from './persist.ts'
import type { Ground, Service } from './service.ts'

/** So few records behind, and the record counts as level: more come in all the time. */
const LEVEL_RECORDS = 200
const LEVEL_MS = 500

export interface Genealogy extends Service {
  /** Resolves when everything the log held before the call is in the database. */
  settled(): Promise<void>
}

export interface GenealogyGround extends Ground {
  store: Store
  /** The log on this disk; absent where brokers hold it. */
  log?: Log
}

/**
 * Starts to follow. On this disk's log it resolves when following has begun, and throws when it cannot;
 * with brokers it goes on trying to reach them and the database, and tells how it is.
 */
export async function openGenealogy(parts: GenealogyGround): Promise<Genealogy> {
  const follower = new Follower(parts)
  if (parts.log) await follower.started
  return follower
}

class Follower implements Genealogy {
  readonly listeners = []
  readonly started: Promise<void>
  readonly #parts: GenealogyGround
  readonly #stop = new AbortController()
  readonly #written: (slice: WrittenSlice) => void
  #following: Following | undefined
  #levelling: Promise<void> = Promise.resolve()
  #log: Log | undefined
  /** Why it does not follow yet. */
  #waits: string | undefined = 'Genealogy is starting.'
  #broken: string | undefined
  readonly #alarms: string[] = []

  constructor(parts: GenealogyGround) {
    this.#parts = parts
    this.#written = measureWriting(parts)
    measureSetAside(parts.measures, parts.store)
    this.started = this.#start()
    // Whoever opens the house in one process is told by what it throws.
    if (!parts.log) this.started.catch((error) => this.#break(error))
  }

  troubles(): string[] {
    const trouble = this.#broken ?? this.#waits
    return trouble === undefined ? [] : [trouble]
  }

  notes(): readonly string[] {
    return this.#alarms
  }

  broken(): string | undefined {
    return this.#broken
  }

  async settled(): Promise<void> {
    await this.started
    await this.#following?.settled()
    await this.#levelling
  }

  async stop(): Promise<void> {
    this.#stop.abort()
    await this.started.catch(() => undefined)
    await this.#levelling.catch(() => undefined)
    await this.#following?.stop()
    if (this.#log !== this.#parts.log) await this.#log?.close()
  }

  async #start(): Promise<void> {
    const { store, journal, measures } = this.#parts
    const tell = (line: string) => journal.tell(line)
    const tables = async () => {
      await prepareRecord(store, tell)
      return { close: async () => undefined }
    }
    if (!(await this.#persist('database', tables))) return
    const log = this.#parts.log ?? (await this.#openBrokers())
    if (!log) return
    this.#log = log
    const ends = new Prompt(() => log.spans())
    measureLag(measures, store, ends)
    const reader = genealogy({
      ...{ store, log, now: Date.now, written: this.#written },
      ...{ topicPrefix: this.#topicPrefix, tell: (line) => this.#hear(line) },
    })
    const shared = 'cluster' in log ? await sharedReader(reader, this.#sharing(log)) : reader
    this.#following = await log.follow(shared)
    this.#following.ended.catch((error) => this.#break(error))
    this.#waits = undefined
    if (shared !== reader) this.#levelling = this.#level(ends)
  }

  /** Until the record is level with the log for the first time: from then on it is answered from. */
  async #level(ends: Prompt<Span[]>): Promise<void> {
    const { store, journal } = this.#parts
    const { signal } = this.#stop
    while (!signal.aborted) {
      const left = await recordsLeft(store, ends).catch(() => undefined)
      if (left !== undefined && left <= LEVEL_RECORDS) {
        if (await noteLevel(store.pool, Date.now())) journal.tell(await levelSentence(store))
        return
      }
      await pause(LEVEL_MS, undefined, { signal }).catch(() => undefined)
    }
  }

  get #topicPrefix(): string {
    return this.#parts.settings.kafka?.topicPrefix ?? ''
  }

  #sharing({ cluster }: { cluster: unknown }) {
    return { store: this.#parts.store, cluster: String(cluster) }
  }

  async #openBrokers(): Promise<Log | undefined> {
    const { openKafkaLog } = await import('../log/kafka/kafka.ts')
    const { settings, journal } = this.#parts
    const { topicPrefix, ...place } = settings.kafka!
    const topics = topicsOf(topicPrefix)
    const tell = (line: string) => journal.warn(line)
    return this.#persist('brokers', () => openKafkaLog({ ...place, topics, tell }))
  }

  #persist<T extends { close(): Promise<void> }>(
    what: string,
    open: () => Promise<T>,
  ): Promise<T | undefined> {
    // The house in one process is opened whole or not at all.
    if (this.#parts.log) return open()
    return persist(open, this.#stop.signal, (why) => {
      const waits = `Genealogy waits for the ${what}: ${why}`
      if (this.#waits !== waits) this.#parts.journal.warn(waits)
      this.#waits = waits
    })
  }

  /** An alarm begins with its name, and stands until a new start. */
  #hear(line: string): void {
    const { warn, alarm } = this.#parts.journal
    if (!/^[A-Z_]+: /.test(line)) return void warn(line)
    this.#alarms.push(line)
    alarm(line)
  }

  #break(error: unknown): void {
    this.#broken = reasonOf(error)
    this.#parts.journal.alarm(`Genealogy has stopped: ${this.#broken}`)
  }
}

async function levelSentence({ pool }: Store): Promise<string> {
  const { kept, dropped } = await dropOldRecords(pool)
  const all = kept.length + dropped.length
  return [
    all === 0
      ? 'The record is level with the log.'
      : 'The record of this version is level with the log.',
    ...(kept.length > 0 ? [`Kept of other versions: ${kept.join(', ')}.`] : []),
    ...(dropped.length > 0
      ? [`Dropped, older and not used for a day: ${dropped.join(', ')}.`]
      : []),
  ].join(' ')
}

function measureWriting({ measures, journal }: GenealogyGround): (slice: WrittenSlice) => void {
  const took = measures.durations('heat_to_pan_write_seconds', 'Writes of reports to the database.')
  const count = measures.counter('heat_to_pan_written_total', 'Reports written to the database.')
  return ({ topic, partition, seconds, statements, setAside, records }) => {
    took({}, seconds)
    count({ topic, as: 'statement' }, statements)
    count({ topic, as: 'set aside' }, setAside)
    for (const { offset, outcome, bytes } of records)
      if ('class' in outcome)
        journal.note(`A report was set aside: ${outcome.reason}`, {
          ...{ topic, partition, offset, class: outcome.class, source: outcome.source },
          trace_id: traceIn(bytes)?.traceId,
        })
  }
}
