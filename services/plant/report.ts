// What the foundry says about itself. Every station has a clock of its own, numbers its reports and
// takes its time to send them; what reaches the doors, in which order, comes of that.
import type { Entry, JsonObject, JsonValue } from '../events/statement.ts'
import { type Clock, DAY, HOUR, MINUTE } from './clock.ts'
import type { FaultName } from './fault.ts'
import { PLANT } from './names.ts'
import type { Random } from './random.ts'

/** A CloudEvent as a station sends it. */
export interface PlantEvent {
  specversion: '1.0'
  id: string
  source: string
  type: string
  subject?: string
  time: string
  senttime?: string
  timespread?: number
  entry?: Entry
  sequence?: string
  supersedes?: string
  datacontenttype: 'application/json'
  data: JsonObject
}

/** One thing that reaches a door. */
export interface Report {
  /** Unit: ms since 1970. */
  reaches: number
  /** The event; as text where what was sent is no JSON. */
  body: PlantEvent | string
  /** Faults of the reports themselves; a corrected weight is a fault of the plant and bears none. */
  fault?: FaultName
}

/** What a data field may be given: absent is left out. */
export type Given = {
  [name: string]: Given | Given[] | string[] | string | number | boolean | undefined
}

interface Manner {
  entry?: Entry
  /** How far the station's clock is off at the start and gets off, until it is set every third day. */
  offSeconds?: number
  offSecondsPerHour?: number
  /** From the deed to the door. */
  delaySeconds?: readonly [number, number]
  /** Says its own running count and when it sent. */
  counts?: boolean
}

interface Way {
  /** When it ended, by the true clock; now, if absent. */
  at?: number
  entry?: Entry
  lateMinutes?: number
  timespread?: number
}

export class Post {
  readonly reports: Report[] = []
  readonly #paths = new Set<string>()
  readonly #clock: Clock
  readonly #random: Random
  readonly #clocks: Random | undefined
  readonly #start: number
  readonly #offsetMinutes: number
  readonly #offset: string
  /** Texts up to the minute, and codes of days, are asked for again and again. */
  readonly #minutes = new Map<number, string>()
  readonly #days = new Map<number, string>()

  /** With `clocks` every station's clock is off by a minute or so, and drifts. */
  constructor(
    clock: Clock,
    { random, clocks }: { random: Random; clocks?: Random | undefined },
    start: number,
    offsetMinutes: number,
  ) {
    this.#clock = clock
    this.#random = random
    this.#clocks = clocks
    this.#start = start
    this.#offsetMinutes = offsetMinutes
    this.#offset = offsetText(offsetMinutes)
  }

  /** Throws when the path is taken: two stations would number their reports alike. */
  station(path: string, manner: Manner = {}): Station {
    if (this.#paths.has(path)) throw new Error(`${path} is a station already`)
    this.#paths.add(path)
    return new Station(this, path, this.#clocks ? offClock(manner, this.#clocks) : manner)
  }

  send(reaches: number, body: PlantEvent | string, fault?: FaultName): Report {
    const report: Report = fault ? { reaches, body, fault } : { reaches, body }
    this.reports.push(report)
    return report
  }

  /** A report that never comes. */
  drop(report: Report): void {
    this.reports.splice(this.reports.indexOf(report), 1)
  }

  /** Reports in the order they reach the doors. */
  sorted(): Report[] {
    return this.reports.sort((a, b) => a.reaches - b.reaches)
  }

  get now(): number {
    return this.#clock.now
  }

  get random(): Random {
    return this.#random
  }

  /** RFC 3339 with the plant's offset, as a clock shows it that is off by so much. */
  text(ms: number, { offSeconds = 0, offSecondsPerHour = 0 }: Manner = {}): string {
    // At three in the morning, when nothing runs.
    const since = ms - this.#start + 3 * HOUR
    const sinceSet = ((since % (3 * DAY)) + 3 * DAY) % (3 * DAY)
    const off = offSeconds + (offSecondsPerHour * sinceSet) / HOUR
    const shown = Math.floor(ms / 1000 + off) + this.#offsetMinutes * 60
    const minute = Math.floor(shown / 60)
    let text = this.#minutes.get(minute)
    if (text === undefined) {
      text = new Date(minute * MINUTE).toISOString().slice(0, 17)
      this.#minutes.set(minute, text)
    }
    const second = shown - minute * 60
    return text + (second < 10 ? '0' : '') + second + this.#offset
  }

  /** Such as 0412: the day in marks and ids; it begins with the first shift. */
  dayCode(ms: number): string {
    const day = Math.floor((ms + this.#offsetMinutes * MINUTE - 4 * HOUR) / DAY)
    let code = this.#days.get(day)
    if (code === undefined) {
      code = new Date(day * DAY).toISOString().slice(5, 10).replace('-', '')
      this.#days.set(day, code)
    }
    return code
  }
}

/** A machine, scale or desk that reports. */
export class Station {
  readonly source: string
  readonly #post: Post
  readonly #manner: Manner
  readonly #name: string
  #count = 0

  constructor(post: Post, path: string, manner: Manner) {
    this.source = `${PLANT}/${path}`
    this.#post = post
    this.#manner = manner
    this.#name = path.slice(path.lastIndexOf('/') + 1)
  }

  /** A moment as the clock of this station shows it. */
  time(ms: number): string {
    return this.#post.text(ms, this.#manner)
  }

  say(type: string, subject: string | undefined, data: Given, way: Way = {}): Report {
    const { entry = this.#manner.entry, lateMinutes = 0, timespread } = way
    const [least, most] = this.#manner.delaySeconds ?? [3, 40]
    const sent = this.#post.now + lateMinutes * MINUTE
    const reaches = sent + this.#post.random.between(least, most) * 1000
    const count = ++this.#count
    const event: PlantEvent = {
      specversion: '1.0',
      id: `${this.#name}-${String(count).padStart(5, '0')}`,
      source: this.source,
      type,
      ...(subject === undefined ? {} : { subject }),
      time: this.time(way.at ?? this.#post.now),
      ...(this.#manner.counts ? { sequence: String(count), senttime: this.time(sent) } : {}),
      ...(timespread === undefined ? {} : { timespread }),
      ...(entry === undefined ? {} : { entry }),
      datacontenttype: 'application/json',
      data: withoutAbsent(data),
    }
    return this.#post.send(reaches, event)
  }
}

function offClock(manner: Manner, random: Random): Manner {
  const { offSeconds = 0, offSecondsPerHour = 0 } = manner
  return {
    ...manner,
    offSeconds: offSeconds + Math.round(random.normal(0, 60)),
    offSecondsPerHour: offSecondsPerHour + random.normal(0, 2),
  }
}

function withoutAbsent(given: Given): JsonObject {
  const data: JsonObject = {}
  for (const name in given) {
    const value = given[name]
    if (value !== undefined) data[name] = value as JsonValue
  }
  return data
}

function offsetText(minutes: number): string {
  const size = Math.abs(minutes)
  const two = (n: number) => String(n).padStart(2, '0')
  return `${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`
}
