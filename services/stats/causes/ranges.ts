// Where a measure is cut, and which stretches of it are candidates.
import { ranked } from './ranked.ts'
import { type Atoms, atomsBy, type Measure } from './table.ts'

/**
 * Tails that are tried of a measure, as parts of all: so close that none in between is far from both,
 * since a cut a third off costs most of the evidence.
 */
const TAILS = [0.02, 0.03, 0.045, 0.065, 0.09, 0.12, 0.16, 0.2, 0.25, 0.3, 0.35, 0.42, 0.5]
/** Slices of equal size a time is cut into; windows are 1, 2, 4 … slices wide and overlap by half. */
const SLICES = 64

const TAILS_FROM = [
  ...TAILS,
  ...TAILS.slice(0, -1)
    .map((tail) => 1 - tail)
    .reverse(),
]
const SLICES_FROM = Array.from({ length: SLICES - 1 }, (_, i) => (i + 1) / SLICES)

/** A measure in bins: bin i holds values from `cuts[i - 1]` to below `cuts[i]`. */
export interface Binned {
  cuts: number[]
  /** Bin by row or by unit; −1 where nothing was recorded. */
  codes: Int32Array
  ranges: Range[]
}

/** Bins from `from` to below `until`. */
export interface Range {
  from: number
  until: number
}

/** Measures in bins, each worked out once. */
export class Bins {
  readonly #atoms: readonly Atoms[]
  readonly #known = new Map<Measure, Binned>()
  /** Room for the values of one measure. */
  readonly #room: Float64Array

  constructor(atoms: readonly Atoms[]) {
    this.#atoms = atoms
    this.#room = new Float64Array(
      Math.max(...atoms.map(({ rows, units }) => Math.max(rows, units.length))),
    )
  }

  of(measure: Measure): Binned {
    const bins = this.#known.get(measure) ?? this.#binned(measure)
    this.#known.set(measure, bins)
    return bins
  }

  #binned(measure: Measure): Binned {
    const windows = measure.kind === 'time'
    const cuts = this.#quantiles(measure, windows ? SLICES_FROM : TAILS_FROM)
    const bins = cuts.length + 1
    return {
      cuts,
      codes: binsOf(cuts, measure.values),
      ranges: windows ? windowsOf(bins) : tailsOf(bins),
    }
  }

  /**
   * Values of a measure below which given parts of what was looked at lie, each row or unit counted once. Equal
   * values fall together: what lies at or below all others cuts nothing off.
   */
  #quantiles({ of, values }: Measure, parts: readonly number[]): number[] {
    const { rows, units } = atomsBy(this.#atoms, of)
    const room = this.#room
    const count =
      of === 'row' ? knownTo(values.subarray(0, rows), room) : knownOf(values, units, room)
    const least = leastOf(room, count)
    const places = parts.map((part) => Math.ceil(part * count)).filter((place) => place < count)
    const cuts = new Set(ranked(room.subarray(0, count), places))
    return [...cuts].filter((cut) => cut > least)
  }
}

// In functions of their own: what follows a long loop would be compiled anew in every call.

/** The values that were recorded, into room for them; how many. */
function knownTo(values: Float64Array, room: Float64Array): number {
  let count = 0
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    if (!Number.isNaN(value)) room[count++] = value
  }
  return count
}

/** The same of some units. */
function knownOf(values: Float64Array, units: Int32Array, room: Float64Array): number {
  let count = 0
  for (let i = 0; i < units.length; i++) {
    const value = values[units[i]!]!
    if (!Number.isNaN(value)) room[count++] = value
  }
  return count
}

function leastOf(values: Float64Array, count: number): number {
  let least = Number.POSITIVE_INFINITY
  for (let i = 0; i < count; i++) if (values[i]! < least) least = values[i]!
  return least
}

/** Of few cuts both sides of each, or where asked; of many the low tails below and the high ones above. */
export function tailsOf(bins: number, both = bins <= MANY): Range[] {
  const cuts = Array.from({ length: bins - 1 }, (_, i) => i + 1)
  return cuts.flatMap((cut) => {
    const [low, high] = [
      { from: 0, until: cut },
      { from: cut, until: bins },
    ]
    if (both) return [low, high]
    return cut <= cuts.length / 2 ? [low] : [high]
  })
}
const MANY = 5

/** Windows of 1, 2, 4 … bins that overlap by half. */
function windowsOf(bins: number): Range[] {
  const ranges: Range[] = []
  for (let wide = 1; wide < bins; wide *= 2) {
    const step = Math.max(1, wide / 2)
    for (let from = 0; from < bins; from += step) {
      const until = Math.min(bins, from + wide)
      if (until - from < bins) ranges.push({ from, until })
      if (until === bins) break
    }
  }
  return ranges
}

/** Of each value the number of cuts at or below it; −1 where there is none. */
function binsOf(cuts: readonly number[], values: Float64Array): Int32Array {
  const [first, last] = [cuts[0] ?? 0, cuts.at(-1) ?? 0]
  const scale = (STEPS - 1) / (last - first)
  /** By step of equal width from the first cut on, the number of cuts surely at or below it. */
  const from = Int32Array.from({ length: STEPS }, (_, step) => {
    const below = cuts.findIndex((cut) => (cut - first) * scale >= step - 1)
    return below < 0 ? cuts.length : below
  })
  const bins = new Int32Array(values.length)
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    let bin = 0
    if (Number.isNaN(value)) bin = -1
    else if (value >= last) bin = cuts.length
    else if (value >= first) {
      bin = from[Math.floor((value - first) * scale)]!
      while (cuts[bin]! <= value) bin++
    }
    bins[i] = bin
  }
  return bins
}
const STEPS = 256
