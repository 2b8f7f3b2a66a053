// The spool: what the doors have on their own disk goes on to another log behind their backs. Each
// partition goes in order, at least once: after a crash the last records may go again, and the merge
// drops what it has. A log that is away is waited for without end. Where it refuses, somebody has to
// change something: publishing stands still, the doors go on taking in, and it is tried once a minute.
// Nothing is ever taken out of the spool: with it the other log can be filled again.
import { setMaxListeners } from 'node:events'
import { setTimeout as pause } from 'node:timers/promises'
import { Hindrances } from './hindrance.ts'
import type { Log, LogRecord, Span } from './log.ts'
import { LogError, type LogFault } from './log-error.ts'
import { Cursor, nameOf } from './segment/cursor.ts'
import type { SegmentLog } from './segment/segment.ts'

/** Where things go. */
export interface Target extends Pick<Log, 'append' | 'close'> {
  /** What it calls itself: under another name it is another log, and has nothing yet. */
  readonly cluster?: string
}

export interface ForwardParts {
  spool: Pick<SegmentLog, 'spans' | 'read' | 'watch'>
  /** Where it is remembered how far they have gone. */
  folder: string
  /** Tried until it opens. */
  open(): Promise<Target>
  /** The name in the other log of a topic of the spool. */
  topic?(own: string): string
  /** One line when the other log goes away, refuses, or is back. */
  tell(line: string): void
  pauses?: Partial<Pauses>
}

export interface Forwarding {
  /** Taken in by a door and not known to stand in the other log, by topic. Unit: records. */
  waiting(): Promise<Map<string, number>>
  /** Acknowledged by the other log since the start. Unit: records. */
  readonly gone: number
  /** Why it is waited for; undefined while things go on. */
  readonly away: string | undefined
  /** What somebody has to put right, by topic. */
  readonly refusals: ReadonlyMap<string, string>
  /** Resolves when all that the spool holds now has gone on. */
  settled(): Promise<void>
  stop(): Promise<void>
}

/** Unit: ms. */
interface Pauses {
  first: number
  longest: number
  /** Between two tries where somebody has to put something right. */
  refused: number
  /** What is under way when it stops may take so long. */
  stop: number
}

const PAUSES: Pauses = { first: 200, longest: 5_000, refused: 60_000, stop: 3_000 }
const BATCH_RECORDS = 500
/** Below what the brokers take at once. */
const BATCH_BYTES = 500_000

/** What no waiting cures. */
const REFUSALS: ReadonlySet<LogFault> = new Set([
  'LOG_FORBIDDEN',
  'LOG_TOO_LARGE',
  'LOG_UNKNOWN_TOPIC',
  'LOG_OTHER_SHAPE',
  'LOG_CORRUPT',
])

/** Starts to send on what the spool holds and will hold. */
export async function forward(parts: ForwardParts): Promise<Forwarding> {
  const cursor = await Cursor.open(parts.folder)
  const lanes: Lane[] = []
  for (const span of await parts.spool.spans())
    lanes.push({ ...span, next: await cursor.nextOf(span, parts.spool) })
  return new Forwarder(parts, cursor, lanes)
}

/** A partition on its way; `next` is the first record that has not gone. */
interface Lane extends Span {}

class Forwarder implements Forwarding {
  gone = 0
  readonly #hindrances: Hindrances
  readonly #parts: ForwardParts
  readonly #pauses: Pauses
  readonly #cursor: Cursor
  readonly #lanes: readonly Lane[]
  readonly #stop = new AbortController()
  readonly #unwatch: () => void
  readonly #running: Promise<void>
  #settling: { ends: Map<string, bigint>; done: () => void }[] = []
  #news = Promise.withResolvers<void>()
  #opened = false
  #noteFailed = false

  constructor(parts: ForwardParts, cursor: Cursor, lanes: readonly Lane[]) {
    this.#parts = parts
    this.#hindrances = new Hindrances(parts.tell)
    this.#pauses = { ...PAUSES, ...parts.pauses }
    this.#cursor = cursor
    this.#lanes = lanes
    // Every partition listens.
    setMaxListeners(0, this.#stop.signal)
    this.#unwatch = parts.spool.watch(() => this.#wake())
    this.#running = this.#run()
  }

  get away(): string | undefined {
    return this.#hindrances.away ?? (this.#opened ? undefined : 'No broker has answered yet.')
  }

  get refusals(): ReadonlyMap<string, string> {
    return this.#hindrances.refusals
  }

  async waiting(): Promise<Map<string, number>> {
    const waiting = new Map<string, number>()
    const ends = await this.#ends()
    for (const lane of this.#lanes) {
      const left = Number(ends.get(nameOf(lane))! - lane.next)
      waiting.set(lane.topic, (waiting.get(lane.topic) ?? 0) + left)
    }
    return waiting
  }

  async settled(): Promise<void> {
    const ends = await this.#ends()
    await new Promise<void>((done) => {
      this.#settling.push({ ends, done })
      this.#checkSettled()
    })
  }

  async stop(): Promise<void> {
    this.#unwatch()
    this.#stop.abort()
    this.#wake()
    await this.#running
  }

  async #run(): Promise<void> {
    const target = await this.#insist(undefined, () => this.#open())
    if (!target) return
    this.#opened = true
    if (this.#cursor.to !== target.cluster) this.#beginAnew(target.cluster)
    await Promise.all(this.#lanes.map((lane) => this.#drain(lane, target)))
    await this.#inTime(target.close()).catch(() => undefined)
  }

  async #open(): Promise<Target> {
    const opening = this.#parts.open()
    try {
      return await this.#inTime(opening)
    } catch (error) {
      // It may open yet, when nobody wants it any more.
      void opening.then((target) => target.close()).catch(() => undefined)
      throw error
    }
  }

  /** What these brokers have from us is not known: everything goes there, and counts once. */
  #beginAnew(cluster: string | undefined): void {
    if (this.#cursor.to !== undefined)
      this.#parts.tell(
        'These are other brokers than before: everything that is kept here goes to them from the beginning. What they have already counts once.',
      )
    this.#cursor.begin(cluster)
    for (const lane of this.#lanes) lane.next = lane.first
  }

  async #drain(lane: Lane, target: Target): Promise<void> {
    const { spool, topic: named = (own) => own } = this.#parts
    const { topic, partition } = lane
    while (!this.#stop.signal.aborted) {
      const news = this.#news.promise
      const sent = await this.#insist(lane, async () => {
        const batch = cut(await spool.read(topic, partition, lane.next, BATCH_RECORDS))
        if (batch.length > 0) await this.#inTime(target.append(named(topic), batch))
        return batch
      })
      const last = sent?.at(-1)
      if (last) await this.#sent(lane, last)
      else if (sent) await news
    }
  }

  async #sent(lane: Lane, last: LogRecord): Promise<void> {
    this.gone += Number(last.offset + 1n - lane.next)
    lane.next = last.offset + 1n
    try {
      await this.#cursor.move(last)
      this.#noteFailed = false
    } catch (error) {
      // The records are safe on both sides; only the next start will send them again.
      if (!this.#noteFailed)
        this.#parts.tell(
          `How far the reports have gone on cannot be written down in ${this.#parts.folder}: ${error}.`,
        )
      this.#noteFailed = true
    }
    this.#checkSettled()
  }

  /** Tries until it works, for one partition or for all; undefined when stopped meanwhile. */
  async #insist<T>(lane: Lane | undefined, attempt: () => Promise<T>): Promise<T | undefined> {
    const { signal } = this.#stop
    const who = lane ? nameOf(lane) : ''
    let pauseMs = this.#pauses.first
    while (!signal.aborted) {
      try {
        const result = await attempt()
        this.#hindrances.over(who)
        return result
      } catch (error) {
        if (signal.aborted) break
        const why = error instanceof Error ? error.message : String(error)
        const refused = error instanceof LogError && REFUSALS.has(error.code)
        if (refused) this.#hindrances.refuse(who, { topic: lane?.topic ?? 'all stations', why })
        else this.#hindrances.wait(who, why)
        const ms = refused ? this.#pauses.refused : pauseMs
        // Not all at the same moment when it is back.
        await pause(ms * (0.5 + Math.random()), undefined, { signal }).catch(() => undefined)
        pauseMs = Math.min(2 * pauseMs, this.#pauses.longest)
      }
    }
    return undefined
  }

  /** The work, but no longer than a stop may take once one is asked for. */
  async #inTime<T>(work: Promise<T>): Promise<T> {
    const { signal } = this.#stop
    const done = new AbortController()
    const late = new Promise<never>((_, failed) => {
      const stopped = () => {
        void pause(this.#pauses.stop, undefined, { signal: done.signal }).then(
          () => failed(new LogError('LOG_CLOSED', 'It was stopped before the answer came.')),
          () => undefined,
        )
      }
      if (signal.aborted) stopped()
      else signal.addEventListener('abort', stopped, { once: true, signal: done.signal })
    })
    try {
      return await Promise.race([work, late])
    } finally {
      done.abort()
    }
  }

  async #ends(): Promise<Map<string, bigint>> {
    return new Map((await this.#parts.spool.spans()).map((span) => [nameOf(span), span.next]))
  }

  #checkSettled(): void {
    this.#settling = this.#settling.filter(({ ends, done }) => {
      const reached = this.#lanes.every((lane) => lane.next >= ends.get(nameOf(lane))!)
      if (reached) done()
      return !reached
    })
  }

  #wake(): void {
    this.#news.resolve()
    this.#news = Promise.withResolvers()
  }
}

/** As many as may go at once; at least one. */
function cut(records: readonly LogRecord[]): readonly LogRecord[] {
  let bytes = 0
  const over = records.findIndex(({ key, value }) => {
    bytes += key.length + value.length
    return bytes > BATCH_BYTES
  })
  return over < 0 ? records : records.slice(0, Math.max(1, over))
}
