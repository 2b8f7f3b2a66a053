// The first look at everything: what was found and expected with and without each candidate of one
// factor, all of them in one walk over the rows.
import { BINS, CELLS, emptyTallies, emptyTally, type Looked, type Tally } from './likelihood.ts'
import type { Range } from './ranges.ts'
import type { Atoms, Of } from './table.ts'

const KNOWN_FROM = 0.5

/** A factor by code: a level, or a bin of a measure; below 0 where it was not recorded. */
export interface Coded {
  of: 'row' | 'atom'
  codes: Int32Array
  /** Codes go from 0 to below this. */
  count: number
}

/** Codes by row stay so; those by unit are laid out by atom, where nobody knows the unit as −1. */
export function coded(atoms: Atoms, of: Of, codes: Int32Array, count: number): Coded {
  if (of === 'row') return { of, codes, count }
  return { of: 'atom', codes: atoms.unit.map((unit) => (unit < 0 ? -1 : codes[unit]!)), count }
}

/**
 * Codes of one factor where a condition holds as well; where it does not, a code of its own, the last.
 * Where the condition is not known neither is this.
 */
export function gated(
  atoms: Atoms,
  { of, codes, count }: Coded,
  gate: Coded,
  level: number,
): Coded {
  const both = new Int32Array(atoms.part.length)
  for (let r = 0; r < atoms.rows; r++)
    for (let i = atoms.start[r]!; i < atoms.start[r + 1]!; i++) {
      const holds = gate.codes[gate.of === 'row' ? r : i]!
      const code = codes[of === 'row' ? r : i]!
      both[i] = holds === level ? code : holds < 0 ? -1 : count
    }
  return { of: 'atom', codes: both, count: count + 1 }
}

/** One tally for each level. Rows in which too little is recorded are left out of all. */
export function tallyLevels(
  looked: Looked,
  base: Float64Array,
  atoms: Atoms,
  coded: Coded,
): Tally[] {
  const tallies = emptyTallies(coded.count, looked.strata)
  const all = walk(looked, base, atoms, coded, (into, parts, touched, known) => {
    for (const code of touched) into(tallies[code]!, parts[code]! / known)
  })
  return closed(tallies, all)
}

/** One tally for each stretch of bins. */
export function tallyRanges(
  looked: Looked,
  base: Float64Array,
  atoms: Atoms,
  coded: Coded,
  ranges: readonly Range[],
): Tally[] {
  const tallies = emptyTallies(ranges.length, looked.strata)
  const upTo = new Float64Array(coded.count + 1)
  const all = walk(looked, base, atoms, coded, (into, parts, touched, known) => {
    if (touched.length === 1) {
      const code = touched[0]!
      for (let k = 0; k < ranges.length; k++)
        if (code >= ranges[k]!.from && code < ranges[k]!.until) into(tallies[k]!, 1)
      return
    }
    for (let code = 0; code < coded.count; code++) upTo[code + 1] = upTo[code]! + parts[code]!
    for (let k = 0; k < ranges.length; k++) {
      const exposed = upTo[ranges[k]!.until]! - upTo[ranges[k]!.from]!
      if (exposed > 0) into(tallies[k]!, exposed / known)
    }
  })
  return closed(tallies, all)
}

/**
 * For each stretch of bins only how surprising its defects are, in standard deviations, once the effect of
 * a gate is in what is expected: of rows that the gate does not expose none is exposed.
 */
export function surpriseOfRanges(
  looked: Looked,
  base: Float64Array,
  atoms: Atoms,
  coded: Coded,
  ranges: readonly Range[],
  gate: Float64Array,
): Float64Array {
  const { strata, stratum, castings, defective } = looked
  const cells = ranges.length * strata
  const sums = {
    found: new Float64Array(cells),
    expected: new Float64Array(cells),
    squared: new Float64Array(cells),
    shared: new Float64Array(cells),
  }
  const whole = Array.from({ length: strata }, () => ({ y: 0, e: 0, g: 0, gg: 0, gy: 0 }))
  const upTo = new Float64Array(coded.count + 1)
  walk(looked, base, atoms, coded, (_, parts, _touched, known, r) => {
    const [y, e, g] = [defective[r]!, castings[r]! * base[r]!, gate[r]!]
    const all = whole[stratum[r]!]!
    all.y += y
    all.e += e
    if (!(g > 0)) return
    all.g += g * e
    all.gg += g * g * e
    all.gy += g * y
    for (let code = 0; code < coded.count; code++) upTo[code + 1] = upTo[code]! + parts[code]!
    for (let k = 0; k < ranges.length; k++) {
      const x = (upTo[ranges[k]!.until]! - upTo[ranges[k]!.from]!) / known
      if (x <= 0) continue
      const at = k * strata + stratum[r]!
      sums.found[at]! += x * y
      sums.expected[at]! += x * e
      sums.squared[at]! += x * x * e
      sums.shared[at]! += x * g * e
    }
  })
  return Float64Array.from(ranges, (_, k) => {
    let [score, information, scoreOfGate, ofGate, common] = [0, 0, 0, 0, 0]
    for (let s = 0; s < strata; s++) {
      const { y, e, g, gg, gy } = whole[s]!
      if (y <= 0 || e <= 0) continue
      const at = k * strata + s
      const [times, expected] = [y / e, sums.expected[at]!]
      score += sums.found[at]! - times * expected
      information += times * (sums.squared[at]! - (expected * expected) / e)
      scoreOfGate += gy - times * g
      ofGate += times * (gg - (g * g) / e)
      common += times * (sums.shared[at]! - (expected * g) / e)
    }
    if (ofGate > 0) {
      score -= (common / ofGate) * scoreOfGate
      information -= (common * common) / ofGate
    }
    return information > LEAST_INFORMATION ? score / Math.sqrt(information) : 0
  })
}
const LEAST_INFORMATION = 0.5

type Into = (tally: Tally, exposed: number) => void

/**
 * Calls back for each row that is known enough, with how much of it has each code; gives the tally of
 * all such rows, as if wholly exposed.
 */
function walk(
  looked: Looked,
  base: Float64Array,
  atoms: Atoms,
  coded: Coded,
  each: (
    into: Into,
    parts: Float64Array,
    touched: readonly number[],
    known: number,
    row: number,
  ) => void,
): Tally {
  const { castings, defective, stratum } = looked
  const all = emptyTally(looked.strata)
  const parts = new Float64Array(coded.count)
  const touched: number[] = []
  let row = 0
  const into: Into = (tally, exposed) => {
    const k = Math.round(exposed * BINS)
    if (k === 0) return
    const at = stratum[row]! * CELLS + k
    tally.castings[at]! += castings[row]!
    tally.defective[at]! += defective[row]!
    tally.expected[at]! += castings[row]! * base[row]!
  }
  for (row = 0; row < atoms.rows; row++) {
    const known = gather(atoms, coded, row, parts, touched)
    if (known >= KNOWN_FROM) {
      into(all, 1)
      each(into, parts, touched, known, row)
    }
    for (const code of touched) parts[code] = 0
    touched.length = 0
  }
  return all
}

/** Sums the parts of a row by code; gives how much of it is known. */
function gather(
  atoms: Atoms,
  { of, codes }: Coded,
  row: number,
  parts: Float64Array,
  touched: number[],
): number {
  if (of === 'row') {
    const code = codes[row]!
    if (code < 0) return 0
    parts[code] = 1
    touched.push(code)
    return 1
  }
  let known = 0
  for (let i = atoms.start[row]!; i < atoms.start[row + 1]!; i++) {
    const code = codes[i]!
    if (code < 0) continue
    if (parts[code] === 0) touched.push(code)
    parts[code]! += atoms.part[i]!
    known += atoms.part[i]!
  }
  return known
}

/** Fills in what is not exposed: all that is known of the factor, less what is. */
function closed(tallies: Tally[], all: Tally): Tally[] {
  for (const tally of tallies)
    for (const sort of ['castings', 'defective', 'expected'] as const) {
      const [cells, total] = [tally[sort], all[sort]]
      for (let none = 0; none < cells.length; none += CELLS) {
        let exposed = 0
        for (let k = 1; k <= BINS; k++) exposed += cells[none + k]!
        cells[none] = Math.max(0, total[none + BINS]! - exposed)
      }
    }
  return tallies
}

/** How many standard deviations more were found among the exposed than their part of all. */
export function surprise(tally: Tally): { score: number; information: number } {
  let [score, information] = [0, 0]
  for (let s = 0; s < tally.strata; s++) {
    let [y, n, e, ye, ee, eee] = [0, 0, 0, 0, 0, 0]
    for (let k = 0; k <= BINS; k++) {
      const at = s * CELLS + k
      const x = k / BINS
      y += tally.defective[at]!
      n += tally.castings[at]!
      e += tally.expected[at]!
      ye += x * tally.defective[at]!
      ee += x * tally.expected[at]!
      eee += x * x * tally.expected[at]!
    }
    if (y <= 0 || y >= n || e <= 0) continue
    score += ye - (y * ee) / e
    information += (y / e) * (1 - y / n) * (eee - (ee * ee) / e)
  }
  return { score, information }
}
