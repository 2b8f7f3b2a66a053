// Where a measure is cut, and which stretches of it are candidates.
import { type Atoms, atomsBy, type Measure } from './table.ts'

/**
 * Tails that are tried of a measure, as parts of all: so close that none in between is far from both,
 * since a cut a third off costs most of the evidence.
 */
const TAILS = [0.02, 0.03, 0.045, 0.065, 0.09, 0.12, 0.16, 0.2, 0.25, 0.3, 0.35, 0.42, 0.5]
/** Slices of equal size a time is cut into; windows are 1, 2, 4 … slices wide and overlap by half. */
const SLICES = 64

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

const known = new WeakMap<Measure, Binned>()

/** The bins of a measure, worked out once. */
export function binnedOnce(atoms: readonly Atoms[], measure: Measure): Binned {
  const bins = known.get(measure) ?? binned(atoms, measure)
  known.set(measure, bins)
  return bins
}

function binned(atoms: readonly Atoms[], measure: Measure): Binned {
  const windows = measure.kind === 'time'
  const parts = windows
    ? Array.from({ length: SLICES - 1 }, (_, i) => (i + 1) / SLICES)
    : [
        ...TAILS,
        ...TAILS.slice(0, -1)
          .map((tail) => 1 - tail)
          .reverse(),
      ]
  const real = quantiles(atomsBy(atoms, measure.of), measure, parts)
  const codes = binsOf(real, measure.values)
  const bins = real.length + 1
  return { cuts: real, codes, ranges: windows ? windowsOf(bins) : tailsOf(bins) }
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
  const bins = new Int32Array(values.length).fill(-1)
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    if (Number.isNaN(value)) continue
    let [low, high] = [0, cuts.length]
    while (low < high) {
      const middle = (low + high) >> 1
      if (cuts[middle]! <= value) low = middle + 1
      else high = middle
    }
    bins[i] = low
  }
  return bins
}

/**
 * Values of a measure below which given parts of what was looked at lie, each row or unit counted once. Equal
 * values fall together: what lies at or below all others cuts nothing off.
 */
function quantiles(atoms: Atoms, { of, values }: Measure, parts: readonly number[]): number[] {
  const looked = new Uint8Array(values.length).fill(of === 'row' ? 1 : 0)
  if (of !== 'row') for (const unit of atoms.unit) if (unit >= 0) looked[unit] = 1
  const sorted = new Float64Array(values.length)
  let [count, least] = [0, Number.POSITIVE_INFINITY]
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    if (Number.isNaN(value)) continue
    if (value < least) least = value
    if (looked[i] === 1) sorted[count++] = value
  }
  const own = sorted.subarray(0, count).sort()
  const cuts = parts.flatMap((part) => own[Math.ceil(part * count)] ?? [])
  return [...new Set(cuts)].filter((cut) => cut > least)
}
