// When each cell was, and what decides between cells of one second.

import { grown, trimmed } from './grow.ts'
import { mixed } from './noise.ts'

export class Clock {
  /** By cell. Unit: seconds since 1970, up to 2106. */
  at = new Uint32Array(0)
  #tie: Int32Array | Float64Array = new Int32Array(0)
  readonly #text = new Map<number, string>()
  count = 0

  /** Numbers the next cell. `at` in ms. Throws RangeError when it is no moment from 1970 to 2106. */
  add(at: number, tie: string | number): number {
    const seconds = Math.floor(at / 1000)
    if (!(seconds >= 0 && seconds <= 0xffffffff)) throw new RangeError(`no moment of a cell: ${at}`)
    const cell = this.count++
    this.at = grown(this.at, this.count)
    this.#tie = grown(this.#tie, this.count)
    this.at[cell] = seconds
    if (typeof tie === 'string') this.#text.set(cell, tie)
    else {
      if (tie !== (tie | 0) && this.#tie instanceof Int32Array)
        this.#tie = new Float64Array(this.#tie)
      this.#tie[cell] = tie
    }
    return cell
  }

  /** A number that tells cells apart by clock and tie alone, whatever order they came in. */
  mark(cell: number): number {
    return mixed(this.at[cell]!, this.#tie[cell]! | 0)
  }

  /** Below 0 when `a` comes first: the clock, then the tie (numbers before texts), then arrival. */
  compare = (a: number, b: number): number => {
    const clock = this.at[a]! - this.at[b]!
    if (clock !== 0) return clock
    const [x, y] = [this.#text.get(a), this.#text.get(b)]
    if (x === undefined && y === undefined) return this.#tie[a]! - this.#tie[b]! || a - b
    if (x === undefined || y === undefined) return x === undefined ? -1 : 1
    return x < y ? -1 : x > y ? 1 : a - b
  }

  /** Every cell, by the clock; cells of one second in any order. */
  cells(): Int32Array {
    const width = 2 ** Math.ceil(Math.log2(this.count + 1))
    const at = this.at.subarray(0, this.count)
    const first = at.reduce((least, seconds) => Math.min(least, seconds), 2 ** 32)
    const last = at.reduce((most, seconds) => Math.max(most, seconds), 0)
    if ((last - first) * width > Number.MAX_SAFE_INTEGER - width) {
      return Int32Array.from(at.keys()).sort((a, b) => at[a]! - at[b]!)
    }
    // Both in one number: sorting numbers is ten times faster than calling a comparison.
    const keys = Float64Array.from(at, (seconds, cell) => (seconds - first) * width + cell).sort()
    return Int32Array.from(keys, (key) => key % width)
  }

  compact(): void {
    this.at = trimmed(this.at, this.count)
    this.#tie = trimmed(this.#tie, this.count)
  }
}
