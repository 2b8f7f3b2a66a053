// The first look at everything: what was found and expected with each candidate of one factor, all of them
// in one walk over the rows.
import type { Looked } from './likelihood.ts'
import type { Range } from './ranges.ts'
import { type Atoms, KNOWN_FROM, type Of } from './table.ts'

/** A factor by code: a level, or a bin of a measure; below 0 where it was not recorded. */
export interface Coded {
  of: 'row' | 'atom'
  codes: Int32Array
  /** Codes go from 0 to below this. */
  count: number
}

/** Codes by row stay so; those by unit are laid out by atom, where nobody knows the unit as −1. */
export function coded({ unit }: Atoms, of: Of, codes: Int32Array, count: number): Coded {
  if (of === 'row') return { of, codes, count }
  const byAtom = new Int32Array(unit.length)
  for (let i = 0; i < unit.length; i++) byAtom[i] = unit[i]! < 0 ? -1 : codes[unit[i]!]!
  return { of: 'atom', codes: byAtom, count }
}

/** Sums over rows in which enough is known, by candidate × stratum, each row by the part that is exposed. */
export interface Seen {
  strata: number
  castings: Float64Array
  found: Float64Array
  expected: Float64Array
  /** By the square of that part. */
  squared: Float64Array
  /** Of all such rows, by stratum. */
  all: { castings: Float64Array; found: Float64Array; expected: Float64Array }
}

/** Each level by itself. */
export function seenByLevel(looked: Looked, base: Float64Array, atoms: Atoms, coded: Coded): Seen {
  const seen = nothingSeen(coded.count, looked.strata)
  walk(looked, base, atoms, coded, seen, (row, { code, part, count }) => {
    for (let j = 0; j < count; j++) add(seen, code[j]!, part[j]!, row)
  })
  return seen
}

/** Stretches of bins that lie anyhow. */
export function seenByRange(
  looked: Looked,
  base: Float64Array,
  atoms: Atoms,
  coded: Coded,
  ranges: readonly Range[],
): Seen {
  const seen = nothingSeen(ranges.length, looked.strata)
  const holding: number[][] = Array.from({ length: coded.count }, () => [])
  for (const [k, { from, until }] of ranges.entries())
    for (let bin = from; bin < until; bin++) holding[bin]!.push(k)
  const exposed = new Float64Array(ranges.length)
  walk(looked, base, atoms, coded, seen, (row, { code, part, count }) => {
    for (let j = 0; j < count; j++) for (const k of holding[code[j]!]!) exposed[k]! += part[j]!
    for (let j = 0; j < count; j++)
      for (const k of holding[code[j]!]!) {
        if (exposed[k]! > 0) add(seen, k, exposed[k]!, row)
        exposed[k] = 0
      }
  })
  return seen
}

/**
 * Stretches that reach from the first bin or to the last. What of a row lies below a cut rises with the cut in
 * steps, one for each bin it has; so only those are noted, and added up along the cuts at the end.
 */
export function seenByTail(
  looked: Looked,
  base: Float64Array,
  atoms: Atoms,
  coded: Coded,
  ranges: readonly Range[],
): Seen {
  const { strata } = looked
  const steps = nothingSeen(coded.count, strata)
  walk(looked, base, atoms, coded, steps, (row, parts) => {
    inOrder(parts)
    let below = 0
    for (let j = 0; j < parts.count; j++) {
      const part = parts.part[j]!
      add(steps, parts.code[j]!, part, row)
      // The square of a sum grows by more than the square of what is added.
      steps.squared[parts.code[j]! * strata + row.stratum]! += 2 * below * part * row.expected
      below += part
    }
  })
  for (const sums of [steps.castings, steps.found, steps.expected, steps.squared])
    for (let at = strata; at < sums.length; at++) sums[at]! += sums[at - strata]!
  return tailsOfSteps(steps, ranges)
}

/** What lies below each cut, or above it: all less that. */
function tailsOfSteps(steps: Seen, ranges: readonly Range[]): Seen {
  const { strata, all } = steps
  const seen = { ...nothingSeen(ranges.length, strata), all }
  for (const [k, { from, until }] of ranges.entries())
    for (let s = 0; s < strata; s++) {
      const [into, at] = [k * strata + s, ((from === 0 ? until : from) - 1) * strata + s]
      const [castings, found] = [steps.castings[at]!, steps.found[at]!]
      const [expected, squared] = [steps.expected[at]!, steps.squared[at]!]
      const low = from === 0
      seen.castings[into] = low ? castings : all.castings[s]! - castings
      seen.found[into] = low ? found : all.found[s]! - found
      seen.expected[into] = low ? expected : all.expected[s]! - expected
      // All parts of a row are 1: (1 − p)² = 1 − 2p + p².
      seen.squared[into] = low ? squared : all.expected[s]! - 2 * expected + squared
    }
  return seen
}

/** One candidate, of which each row has so much. */
export function seenByExposure(looked: Looked, base: Float64Array, exposure: Float64Array): Seen {
  const seen = nothingSeen(1, looked.strata)
  const row: Row = { stratum: 0, castings: 0, found: 0, expected: 0 }
  for (let r = 0; r < exposure.length; r++) {
    if (Number.isNaN(exposure[r]!)) continue
    readRow(looked, base, r, row)
    addToAll(seen, row)
    add(seen, 0, exposure[r]!, row)
  }
  return seen
}

/** Some castings are exposed and some are not. */
export function tellsApart({ strata, castings, all }: Seen, k: number, least: number): boolean {
  let [exposed, rest] = [0, 0]
  for (let s = 0; s < strata; s++) {
    exposed += castings[k * strata + s]!
    rest += all.castings[s]! - castings[k * strata + s]!
  }
  return exposed >= least && rest >= least
}

/**
 * How many more were found among the exposed than their part of all, and the variance of that were castings
 * to fail each by itself.
 */
export function surprise(seen: Seen, k: number): { score: number; information: number } {
  let [score, information] = [0, 0]
  for (let s = 0; s < seen.strata; s++) {
    const [n, y, e] = [seen.all.castings[s]!, seen.all.found[s]!, seen.all.expected[s]!]
    if (y <= 0 || y >= n || e <= 0) continue
    const at = k * seen.strata + s
    const expected = seen.expected[at]!
    score += seen.found[at]! - (y * expected) / e
    information += (y / e) * (1 - y / n) * (seen.squared[at]! - (expected * expected) / e)
  }
  return { score, information }
}

/** One row, as it is added up. */
export interface Row {
  stratum: number
  castings: number
  found: number
  expected: number
}

/** What one row is made of, by code, each code once: the first `count` of these. */
export interface Parts {
  code: Int32Array
  part: Float64Array
  count: number
}

/** Puts the parts of a row in the order of their codes: they are few, and mostly in order. */
export function inOrder({ code, part, count }: Parts): void {
  for (let j = 1; j < count; j++)
    for (let i = j; i > 0 && code[i - 1]! > code[i]!; i--) {
      const [c, p] = [code[i]!, part[i]!]
      code[i] = code[i - 1]!
      part[i] = part[i - 1]!
      code[i - 1] = c
      part[i - 1] = p
    }
}

function add(
  { strata, castings, found, expected, squared }: Seen,
  k: number,
  x: number,
  row: Row,
): void {
  const at = k * strata + row.stratum
  castings[at]! += x * row.castings
  found[at]! += x * row.found
  expected[at]! += x * row.expected
  squared[at]! += x * x * row.expected
}

function nothingSeen(candidates: number, strata: number): Seen {
  const sums = (count: number) => new Float64Array(count * strata)
  return {
    strata,
    castings: sums(candidates),
    found: sums(candidates),
    expected: sums(candidates),
    squared: sums(candidates),
    all: { castings: sums(1), found: sums(1), expected: sums(1) },
  }
}

function readRow(looked: Looked, base: Float64Array, r: number, row: Row): void {
  row.stratum = looked.stratum[r]!
  row.castings = looked.castings[r]!
  row.found = looked.defective[r]!
  row.expected = row.castings * base[r]!
}

function addToAll({ all }: Seen, { stratum, castings, found, expected }: Row): void {
  all.castings[stratum]! += castings
  all.found[stratum]! += found
  all.expected[stratum]! += expected
}

/** Calls back for each row that is known enough, with what of it has each code, 1 in all; sums up all of those. */
function walk(
  looked: Looked,
  base: Float64Array,
  atoms: Atoms,
  coded: Coded,
  seen: Seen,
  each: (row: Row, parts: Parts) => void,
): void {
  const row: Row = { stratum: 0, castings: 0, found: 0, expected: 0 }
  const gather = new Gather(atoms, coded)
  for (let r = 0; r < atoms.rows; r++) {
    if (gather.row(r) < KNOWN_FROM) continue
    readRow(looked, base, r, row)
    addToAll(seen, row)
    each(row, gather.parts)
  }
}

/** Gathers the parts of one row after another by code. */
class Gather {
  readonly #atoms: Atoms
  readonly #coded: Coded
  /** By code, its place among the parts of this row, and the row it was last in. */
  readonly #place: Int32Array
  readonly #row: Int32Array
  readonly parts: Parts

  constructor(atoms: Atoms, coded: Coded) {
    this.#atoms = atoms
    this.#coded = coded
    this.#place = new Int32Array(coded.count)
    this.#row = new Int32Array(coded.count).fill(-1)
    this.parts = {
      code: new Int32Array(coded.count),
      part: new Float64Array(coded.count),
      count: 0,
    }
  }

  /** How much of it is known; its parts are of that. */
  row(r: number): number {
    const { parts } = this
    const { of, codes } = this.#coded
    if (of === 'row') {
      parts.count = codes[r]! < 0 ? 0 : 1
      parts.code[0] = codes[r]!
      parts.part[0] = 1
      return parts.count
    }
    const { start, part } = this.#atoms
    const [place, row] = [this.#place, this.#row]
    let [known, count] = [0, 0]
    for (let i = start[r]!; i < start[r + 1]!; i++) {
      const code = codes[i]!
      if (code < 0) continue
      known += part[i]!
      if (row[code] === r) {
        parts.part[place[code]!]! += part[i]!
        continue
      }
      row[code] = r
      place[code] = count
      parts.code[count] = code
      parts.part[count++] = part[i]!
    }
    for (let j = 0; j < count; j++) parts.part[j]! /= known
    parts.count = count
    return known
  }
}
