// How far weighing leaves a share in doubt. Beside the followed amount and the mass of a vessel run 64
// small differences of each, one for each replicate of all errors: what both would be off by. A tap takes
// the difference of their quotient to first order. Errors that many weighings share stay together, since
// each cause has one row of signs throughout.

import type { Clock } from './clock.ts'
import { mixed, Noise } from './noise.ts'
import {
  causeOf,
  FRESH,
  OLDER,
  SET,
  SHARING,
  SPREADS,
  scaleOf,
  sharedOf,
  singleOf,
  TOLERANCE,
  WEIGHED,
  weighing,
} from './op.ts'
import { REPLICATES, Rows } from './rows.ts'

// Common practice, no source: a weight nobody says more about is good to a hundredth.
const UNSAID = weighing(0.01, 0, 0)
// From memory: what a vessel holds is seen by those who work at it, to a third at worst, or to a part of what it
// held when it was fullest: the level of a heel tells less than that of a bath.
const SEEN = { now: 1 / 3, full: 1 / 10 }

/** What the walk carries from page to page. */
export interface DoubtSweep {
  /** By slot, `stride` apart: the share as best known. */
  share: Float64Array
  stride: number
  /** By slot: 1 where what is written does not count, and the share is beyond doubt. */
  pinned: Uint8Array
  /** By vessel. */
  mass: Float64Array
  flood: Uint8Array | undefined
  clock: Clock
  /** By slot: standard deviation of its share. */
  spread: Float32Array
}

/** What was poured in and tapped since the rows of the vessel in hand were level with it. */
class Due {
  /** Variance of what is not followed. */
  quiet = 0
  /** Weighed on the scale in hand: what of it is followed, and all; taps count below 0. */
  scale = 0
  shared = 0
  scaleA = 0
  scaleM = 0
  /** Taps in a row: their sum, below 0, their share and variance. */
  tapped = 0
  share = 0
  taps = 0

  forget(): void {
    this.quiet = 0
    this.scaleA = 0
    this.scaleM = 0
    this.tapped = 0
    this.taps = 0
  }
}

/** The rows of one ledger, kept from one walk to the next. */
export class Doubt {
  readonly #rows = new Rows()
  readonly #noise = new Noise(this.#rows)
  /** Of the vessel in hand where mixing starts fresh, and one for what is soon forgotten. */
  readonly #amount = this.#rows.take()
  readonly #grams = this.#rows.take()
  readonly #soon = this.#rows.take()
  readonly #due = new Due()
  /** Rows from here on are of one walk. */
  readonly #begin = this.#rows.end
  /** By vessel: rows of the followed amount and of the mass. */
  #amounts: number[] = []
  #masses: number[] = []
  /** By slot: its row, 0 for none, and how often it is still to be read. */
  #row: Int32Array = new Int32Array(0)
  #reads: Int32Array = new Int32Array(0)
  /** By vessel: the followed amount. */
  #held = new Float64Array(0)

  /** Begins a walk, with what the masses of vessels are off by; `each` goes through its pages. */
  begin(
    { slots, vessels, off }: { slots: number; vessels: number; off: Float32Array },
    each: (visit: (ops: Int32Array, end: number) => void) => void,
  ): void {
    const rows = this.#rows
    rows.end = this.#begin
    this.#row = blank(this.#row, slots)
    this.#reads = blank(this.#reads, slots)
    this.#held = new Float64Array(vessels)
    const reads = this.#reads
    each((ops, end) => {
      for (let i = 0; i < end; i += 2) if (ops[i]! > 0 && ops[i + 1]! > 0) reads[ops[i]!]!++
    })
    this.#amounts = Array.from(this.#held, () => rows.take())
    this.#masses = Array.from(this.#held, () => rows.take())
    for (let vessel = 0; vessel < vessels; vessel++) {
      rows.clear(this.#amounts[vessel]!)
      rows.clear(this.#masses[vessel]!)
      const from = vessel * REPLICATES
      rows.at(this.#masses[vessel]!).set(off.subarray(from, from + REPLICATES))
    }
  }

  /** By vessel and replicate: what masses are off by where the walk is. */
  off(): Float32Array {
    const off = new Float32Array(this.#masses.length * REPLICATES)
    for (const [vessel, row] of this.#masses.entries()) {
      off.set(this.#rows.at(row), vessel * REPLICATES)
    }
    return off
  }

  /** Carries the differences through a page. */
  page(sweep: DoubtSweep, ops: Int32Array, end: number): void {
    const { share, stride, pinned, mass, flood, clock, spread } = sweep
    const { pour, tap } = this.#rows.ops
    const noise = this.#noise
    const [row, reads, due, soon] = [this.#row, this.#reads, this.#due, this.#soon]
    let a = this.#amount
    let m = this.#grams
    let A = 0
    let M = 0
    let c = 0
    let off = 0
    let vessel = -1
    let full = 0
    let flooded = false
    let mark = 0
    /** Of the op in its cell: noise is told apart by it, wherever the cell lies. */
    let n = 0
    let tolerance = 0
    let single = 0
    /** Whether taps in a row have begun: they have one composition. */
    let tapping = false
    for (let i = 0; i < end; i += 2) {
      const slot = ops[i]!
      const g = ops[i + 1]!
      n++
      if (slot >= 0 && g > 0) {
        if (tapping) this.#settle(a, m, mark, n)
        tapping = false
        const x = flooded ? 1 : share[stride * slot]!
        const known = row[slot]!
        const e = g * single
        // What is followed not at all puts only the mass in doubt: many such are settled as one.
        if (x === 0) due.quiet += e * e
        else pour(a, m, flooded ? 0 : known, noise.of(mixed(mark, n)), g, e * x, e)
        if (--reads[slot]! === 0 && known > 0) {
          this.#rows.give(known)
          row[slot] = 0
        }
        if (ops[i - 2] === SHARING) {
          const shared = g * SPREADS[ops[i - 1]! & 127]!
          pour(a, m, 0, noise.of(causeOf(ops[i - 1]!)), 0, shared * x, shared)
        }
        due.scaleA += g * x
        due.scaleM += g
        A += g * x
        M += g
        if (M > full) full = M
      } else if (slot >= 0) {
        const emptied = M + g < 0
        if (!tapping || emptied) {
          this.#settle(a, m, mark, n)
          const from = emptied ? -g : M
          c = flooded ? 1 : A / from
          off = Math.sqrt(tap(soon, a, m, c, 1 / from) / REPLICATES)
          tapping = true
        }
        if (pinned[slot] !== 1) {
          spread[slot] = off
          if (reads[slot]! > 0) {
            if (row[slot] === 0) row[slot] = this.#rows.take()
            tap(row[slot]!, soon, 0, 0, 1)
          }
        }
        M += g
        if (M > 0) {
          due.tapped += g
          due.share = c
          due.taps += g * single * g * single
          due.scaleA += g * c
          due.scaleM += g
          A = M * c
        } else {
          due.forget()
          this.#rows.clear(a)
          this.#rows.clear(m)
          A = 0
          M = 0
          tapping = false
        }
      } else if (slot <= FRESH) {
        if (vessel >= 0) {
          this.#settle(a, m, mark, n)
          // Whoever looked saw the bath at work: a cell that another took the place of tells nothing.
          if (n > 1) this.#see(a, m, A, M, full)
          this.#held[vessel] = A
          mass[vessel] = M
        } else due.forget()
        tapping = false
        vessel = FRESH - 1 - slot
        mark = clock.mark(g)
        n = 0
        if (vessel >= 0) {
          a = this.#amounts[vessel]!
          m = this.#masses[vessel]!
          A = this.#held[vessel]!
          M = mass[vessel]!
          full = M
        } else {
          a = this.#amount
          m = this.#grams
          this.#rows.clear(a)
          this.#rows.clear(m)
          A = 0
          M = 0
        }
        flooded = flood !== undefined && flood[g] === 1
        if (flooded) {
          A = M
          this.#rows.copy(a, m)
        }
        single = singleOf(UNSAID)
        due.scale = 0
      } else if (slot === SET) {
        this.#settle(a, m, mark, n)
        tapping = false
        if (M > 0) tap(soon, a, m, A / M, 1 / M)
        else this.#rows.clear(soon)
        // More than the book and its tolerance is unrecorded, and thins what is there.
        const kept = M > 0 && g - M <= tolerance ? g : Math.min(M, g)
        A = M > 0 ? (A * kept) / M : 0
        M = g
        // The measured mass has an error of its own in place of the book's: what WEIGHED told just before.
        this.#gauge(m, tolerance > 0 ? single * g : 0, noise.of(mixed(mark, n)))
        this.#rows.clear(a)
        pour(a, this.#grams, soon, m, kept, g > 0 ? A / g : 0, 0)
        tolerance = 0
        single = singleOf(UNSAID)
        due.scale = 0
      } else if (slot === TOLERANCE) {
        tolerance = g
      } else if (slot === WEIGHED) {
        this.#settle(a, m, mark, n)
        tapping = false
        single = singleOf(g)
        due.scale = scaleOf(g)
        due.shared = sharedOf(g)
      } else if (slot === OLDER) n--
    }
    if (vessel >= 0) {
      this.#settle(a, m, mark, n + 1)
      if (n > 0) this.#see(a, m, A, M, full)
      this.#held[vessel] = A
      mass[vessel] = M
    } else due.forget()
  }

  /** Brings the rows of the vessel in hand level with what was poured and tapped since. */
  #settle(a: number, m: number, mark: number, n: number): void {
    const { pour } = this.#rows.ops
    const due = this.#due
    if (due.quiet > 0) {
      pour(a, m, 0, this.#noise.of(mixed(~mark, 2 * n + 1)), 0, 0, Math.sqrt(due.quiet))
    }
    if (due.scale > 0 && due.scaleM !== 0) {
      const { shared, scaleA, scaleM } = due
      pour(a, m, 0, this.#noise.shared[due.scale - 1]!, 0, shared * scaleA, shared * scaleM)
    }
    if (due.tapped < 0) {
      const e = Math.sqrt(due.taps)
      pour(a, m, this.#soon, this.#noise.of(mixed(~mark, 2 * n)), due.tapped, e * due.share, e)
    }
    due.forget()
  }

  /** A mass whose error is this spread in the signs of `noise`. */
  #gauge(m: number, spread: number, noise: number): void {
    this.#rows.ops.tap(m, noise, 0, 0, spread)
  }

  /** Errors of a book that is never measured add up; what everybody can see bounds them. */
  #see(a: number, m: number, A: number, M: number, full: number): void {
    const { tap, pour } = this.#rows.ops
    const limit = Math.max(SEEN.now * M, SEEN.full * full)
    const spread = Math.sqrt(tap(this.#soon, m, 0, 0, 1) / REPLICATES)
    if (spread <= limit) return
    // The mass is off by less, its composition by as much as before.
    const less = limit / spread - 1
    pour(a, m, 0, this.#soon, 0, M > 0 ? (less * A) / M : 0, less)
  }
}

function blank(old: Int32Array, length: number): Int32Array {
  return old.length >= length ? old.fill(0) : new Int32Array(length + (length >> 5))
}
