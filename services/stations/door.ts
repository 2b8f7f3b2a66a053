// The door: the one way in for what all eight stations say, and for decisions. It decodes, refuses
// only what the event proves wrong by itself, stamps recordedtime, appends, and answers when the
// record is on disk.
// A repeat is the same key with the same content, taken in by this door not too long ago (recent.ts).
// A repeat that slips through is kept twice and dropped by the merge. The same key with other content
// is kept and flagged: which of the two holds is not for a door to decide.
import type { Who } from '../access/who.ts'
import { contentHash } from '../events/canonical.ts'
import {
  type Decoded,
  decode,
  decodeBinary,
  decodeEvent,
  EVENT_BYTES,
  encode,
  type Refusal,
  type Refused,
} from '../events/envelope.ts'
import { STATIONS, type Station } from '../events/fact.ts'
import { momentOf } from '../events/moment.ts'
import { problemSentence } from '../events/problem.ts'
import { sourceOf } from '../events/source.ts'
import type { JsonValue, Statement } from '../events/statement.ts'
import type { Entry, Log, Place } from '../log/log.ts'
import { topicOf, topicsOf } from '../log/topics.ts'
import { RECENT, Recent } from './recent.ts'

/** One event as it comes: bytes of structured JSON, JSON already read, or CloudEvents binary mode. */
export type Said = Uint8Array | JsonValue | Binary

export interface Binary {
  headers: Readonly<Record<string, string | undefined>>
  body: Uint8Array
}

/** What became of one event. */
export interface Receipt {
  outcome: 'accepted' | 'duplicate' | 'refused'
  /** Why it was refused; each sentence says what is wrong and what to give. */
  problems: { field: string; sentence: string }[]
  /** What is out of the ordinary and was accepted. */
  flags: string[]
  class?: Refusal
  source?: string
  id?: string
  /** When it was taken in; of accepted events only. Unit: ms. */
  recorded?: number
  place?: Place
}

export interface DoorOptions {
  log: Log
  /** Of the topics. */
  prefix?: string
  /** Whose events come in here; all when absent. */
  stations?: readonly Station[]
  /** Told what became of each event. */
  judged?: (receipt: Receipt) => void
  /** Unit: ms. */
  now?: () => number
}

export interface Taking {
  decisions?: boolean
  /** Who sends them: only what is theirs to say is taken. Absent: this process itself. */
  by?: Who
  /** As in W3C Trace Context, and checked. */
  traceparent?: string | undefined
}

/** Thrown by a door that is stopping. */
export class DoorClosedError extends Error {
  constructor() {
    super('The house is stopping and takes nothing more in. Send it again when it is back.')
    this.name = 'DoorClosedError'
  }
}

/** Opens a door; reads the ends of the log first, to know what was taken in lately. */
export async function openDoor(options: DoorOptions): Promise<Door> {
  const { log, prefix = '' } = options
  const recent = new Recent()
  let lastRecorded = 0
  for await (const some of latest(log, prefix))
    for (const { key, hash, recorded } of some) {
      recent.add(key, hash)
      lastRecorded = Math.max(lastRecorded, recorded)
    }
  return new Door(options, recent, lastRecorded)
}

export class Door {
  readonly #log: Log
  readonly #prefix: string
  readonly #stations: ReadonlySet<Station>
  readonly #judged: (receipt: Receipt) => void
  readonly #now: () => number
  readonly #recent: Recent
  /** Appends under way, by key and hash: a repeat is answered no sooner than what it repeats. */
  readonly #underWay = new Map<string, Promise<unknown>>()
  #lastRecorded: number
  #closed = false
  #failure: Error | undefined

  constructor(options: DoorOptions, recent: Recent, lastRecorded: number) {
    this.#log = options.log
    this.#prefix = options.prefix ?? ''
    this.#stations = new Set(options.stations ?? STATIONS)
    this.#judged = options.judged ?? (() => undefined)
    this.#now = options.now ?? Date.now
    this.#recent = recent
    this.#lastRecorded = lastRecorded
  }

  /**
   * Takes events in, in order, and resolves when all accepted ones are on disk. Throws when the log
   * fails: then nothing is known of any of them, and sending them again is harmless.
   * Decisions of the quality station come in only when `decisions` says that they may. Events that
   * name no trace of their own belong to that of `traceparent`.
   */
  async take(said: readonly Said[], how: Taking = {}): Promise<Receipt[]> {
    if (this.#closed) throw new DoorClosedError()
    const judged = said.map((each) => this.#judge(each, how))
    const waiting = judged.flatMap(({ after }) => after ?? [])
    const byStation = Map.groupBy(
      judged.filter((each) => each.statement !== undefined),
      ({ statement }) => statement!.station,
    )
    for (const [station, group] of byStation) waiting.push(this.#append(station, group))
    // All of them, so that nothing is still under way when the caller hears of a failure.
    for (const outcome of await Promise.allSettled(waiting))
      if (outcome.status === 'rejected') throw outcome.reason
    for (const { receipt } of judged) this.#judged(receipt)
    return judged.map(({ receipt }) => receipt)
  }

  /** Why nothing can be taken in; undefined when it can. */
  get trouble(): string | undefined {
    return this.#closed ? new DoorClosedError().message : this.#failure?.message
  }

  /** Takes nothing more in; resolves when what is under way is done. The log stays open. */
  async close(): Promise<void> {
    this.#closed = true
    await Promise.allSettled(this.#underWay.values())
  }

  #judge(said: Said, { decisions = false, by, traceparent }: Taking): Judged {
    // Never falling, even when the clock is set back; and not ahead of it, or what is taken in now would
    // be missing as of now. Reports of one millisecond share it.
    const soonest = Math.max(this.#now(), this.#lastRecorded)
    const decoded = decodeSaid(said, soonest)
    if (!decoded.ok) return { receipt: refusedReceipt(decoded) }
    const { statement } = decoded
    const { source, id, hash, station } = statement
    if (station === 'quality' && !decisions) return { receipt: refusedReceipt(NO_DECISION) }
    if (!this.#stations.has(station)) return { receipt: refusedReceipt(otherDoor(station)) }
    const foreign = by && notOf(by, decoded.statement)
    if (foreign) return { receipt: refusedReceipt(foreign) }
    const key = keyOf(source, id)
    const known = { source, id, problems: [] }
    const before = this.#recent.add(key, hash)
    if (before === 'said') {
      const after = this.#underWay.get(key + hash)
      return { receipt: { outcome: 'duplicate', ...known, flags: [] }, ...(after && { after }) }
    }
    const reused = before === 'reused'
    const flags = reused ? [...decoded.flags, 'id-reused'] : decoded.flags
    // Of what is weighed against something said before, it counts which was said later.
    if (reused || statement.supersedes !== undefined || station === 'quality')
      statement.recorded = Math.max(soonest, this.#lastRecorded + 1)
    this.#lastRecorded = statement.recorded
    const receipt: Receipt = { outcome: 'accepted', ...known, flags, recorded: statement.recorded }
    if (traceparent) statement.carried = { traceparent, ...statement.carried }
    return { receipt, statement }
  }

  async #append(station: Station, group: Judged[]): Promise<void> {
    const statements = group.map(({ statement }) => statement!)
    const entries: Entry[] = statements.map((each) => ({ key: each.source, value: encode(each) }))
    const appending = this.#log.append(topicOf(station, this.#prefix), entries)
    const names = statements.map(({ source, id, hash }) => ({ key: keyOf(source, id), hash }))
    for (const { key, hash } of names) this.#underWay.set(key + hash, appending)
    try {
      const places = await appending
      this.#failure = undefined
      for (const [i, { receipt }] of group.entries()) receipt.place = places[i]!
    } catch (error) {
      for (const { key, hash } of names) this.#recent.remove(key, hash)
      this.#failure = error as Error
      throw error
    } finally {
      for (const { key, hash } of names) this.#underWay.delete(key + hash)
    }
  }
}

interface Judged {
  receipt: Receipt
  /** To be appended. */
  statement?: Statement
  /** To be waited for. */
  after?: Promise<unknown>
}

type Refusing = Pick<Refused, 'class' | 'problems'>

const NO_DECISION: Refusing = {
  class: 'FORGED',
  problems: [
    {
      path: 'type',
      problem: 'is a decision, and no station makes those',
      fix: 'Report what the station saw',
    },
  ],
}

/** Stations speak for themselves, whatever they write into a source. */
function notOf({ stations, plant }: Who, { source, station }: Statement): Refusing | undefined {
  const own = [...stations].join(', ')
  const fix = `Report as ${own} of plant ${plant}, or sign in as who you are`
  if (stations.has(station) && sourceOf(source)?.plant === plant) return undefined
  return {
    class: 'FORGED',
    problems: [{ path: 'source', problem: 'is not who your token says', fix }],
  }
}

function otherDoor(station: Station): Refusing {
  const fix = `Send it to the door of ${station}`
  return { class: 'UNKNOWN', problems: [{ path: 'type', problem: 'is not taken in here', fix }] }
}

function refusedReceipt(refused: Refusing): Receipt {
  const problems = refused.problems.map((problem) => ({
    field: problem.path,
    sentence: problemSentence(problem),
  }))
  return { outcome: 'refused', class: refused.class, problems, flags: [] }
}

function decodeSaid(said: Said, recorded: number): Decoded {
  if (said instanceof Uint8Array) return decode(said, { recorded })
  if (isBinary(said)) return decodeBinary(said.headers, said.body, { recorded })
  const text = textOf(said)
  // Refused as too long in the words that bytes are.
  if (text.length > EVENT_BYTES) return decode(Buffer.from(text), { recorded })
  return decodeEvent(said, { recorded })
}

function isBinary(said: JsonValue | Binary): said is Binary {
  return (
    typeof said === 'object' && said !== null && 'body' in said && said.body instanceof Uint8Array
  )
}

/** As JSON; empty when it is nested so deep that it cannot be written, which the decoder refuses too. */
function textOf(said: JsonValue): string {
  try {
    return JSON.stringify(said)
  } catch {
    return ''
  }
}

function keyOf(source: string, id: string): string {
  return `${source} ${id}`
}

interface Logged {
  key: string
  hash: string
  recorded: number
}

/** What doors have written last: of every partition its share of what can be remembered. */
async function* latest(log: Log, prefix: string): AsyncGenerator<Logged[]> {
  const topics = new Set(topicsOf(prefix))
  const spans = (await log.spans()).filter(({ topic }) => topics.has(topic))
  const all = spans.reduce((sum, { first, next }) => sum + Number(next - first), 0)
  const part = Math.min(1, RECENT / all)
  for (const { topic, partition, first, next } of spans)
    for (let at = next - BigInt(Math.floor(Number(next - first) * part)); at < next; ) {
      const records = await log.read(topic, partition, at, 1_000)
      yield records.flatMap(({ value }) => loggedIn(value) ?? [])
      at += BigInt(records.length)
    }
}

/** Read without the checks, which took their time when it came in; undefined when no door wrote it. */
function loggedIn(value: Uint8Array): Logged | undefined {
  try {
    const event = JSON.parse(Buffer.from(value).toString())
    const recorded = momentOf(event.recordedtime)
    if (recorded === undefined) return undefined
    return { key: keyOf(event.source, event.id), hash: contentHash(event), recorded }
  } catch {
    return undefined
  }
}
