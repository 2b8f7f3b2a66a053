import { Bell, type Clock, DAY, HOUR, MINUTE, type Process } from './clock.ts'
import { type Iron, pourOver } from './iron.ts'
import { type Random, randomOf } from './random.ts'
import type { Post } from './report.ts'
import type { Truth } from './truth.ts'

/** What every area of the foundry shares: one time, one seed, one truth, one post. */
export class World {
  readonly clock: Clock
  readonly post: Post
  readonly truth: Truth
  /** Six in the morning of the first day. Unit: ms. */
  readonly start: number
  readonly days: number
  /** Dirtier than any arithmetic assumes. */
  readonly dirty: boolean
  /** Metal of each pour, by its id. */
  readonly pours = new Map<string, Iron>()
  readonly #seed: number
  readonly #biases = new Map<string, number>()
  readonly #counts = new Map<string, number>()

  constructor(
    { seed, days, dirty }: { seed: number; days: number; dirty: boolean },
    { clock, post, truth, start }: { clock: Clock; post: Post; truth: Truth; start: number },
  ) {
    this.dirty = dirty
    this.clock = clock
    this.post = post
    this.truth = truth
    this.start = start
    this.days = days
    this.#seed = seed
  }

  random(area: string): Random {
    return randomOf(this.#seed, area)
  }

  /** What a device or a book shows of a true 1, the same in every reading of it; a tidy plant has none. */
  bias(device: string, spread: number): number {
    if (!this.dirty) return 1
    let bias = this.#biases.get(device)
    if (bias === undefined) {
      bias = this.random('bias of ' + device).normal(1, spread)
      this.#biases.set(device, bias)
    }
    return bias
  }

  /** The lines run from six to ten at night. */
  opening(day: number): number {
    return this.start + day * 24 * HOUR
  }

  closing(day: number): number {
    return this.opening(day) + 16 * HOUR
  }

  /** Names things of one sort, numbered from 1 on each day, such as P0412-a-014. */
  id(prefix: string, part = '', digits = 3): string {
    const count = String(this.next(prefix + part)).padStart(digits, '0')
    return `${prefix}${this.day()}-${part}${part && '-'}${count}`
  }

  /** Counts things of one sort, from 1 on each day. */
  next(sort: string): number {
    const key = this.day() + sort
    const count = (this.#counts.get(key) ?? 0) + 1
    this.#counts.set(key, count)
    return count
  }

  day(): string {
    return this.post.dayCode(this.clock.now)
  }

  /** Waits while nobody works: cleaning and seasoning go on for some time after the lines close. */
  *shift(afterMinutes: number): Process {
    const now = this.clock.now
    const day = Math.floor((now - this.start) / DAY)
    if (now < this.start) yield this.until(this.start)
    else if (now > this.closing(day) + afterMinutes * MINUTE) {
      // After the last day nobody comes back.
      yield day + 1 < this.days ? this.until(this.opening(day + 1)) : new Bell()
    }
  }

  /** Time until a moment; none, if it is past. Unit: ms. */
  until(ms: number): number {
    return Math.max(0, ms - this.clock.now)
  }

  /** Metal goes from one body into another, in truth. */
  move(from: Iron, into: Iron, kg: number): void {
    this.truth.metal.flow(from.node, into.node, kg)
    pourOver(from, into, kg)
  }
}

/** A time of work around some minutes: never less than half of them. */
export function about(random: Random, minutes: number): number {
  return Math.max(0.5, random.normal(1, 0.12)) * minutes * MINUTE
}

/** As a scale shows it: its own error, and steps it cannot show less than. */
export function weighed(random: Random, kg: number, step = 1, spread = 0.003): number {
  const shown = Math.round((kg * random.normal(1, spread)) / step) * step
  return Math.max(0, Number(shown.toFixed(3)))
}
