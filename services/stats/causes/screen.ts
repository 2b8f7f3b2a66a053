// The first look at everything: what was found and expected with each candidate of one factor, all of them
// in one walk over the rows.
import type { Gather } from './gather.ts'
import type { Looked } from './likelihood.ts'
import type { Range } from './ranges.ts'
import { KNOWN_FROM } from './table.ts'
import { addUp, ofTails, squaresOfTails } from './tails.ts'

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

/** Each level by itself, of so many. */
export function seenByLevel(
  looked: Looked,
  base: Float64Array,
  gathered: Gather,
  levels: number,
): Seen {
  const seen = nothingSeen(levels, looked.strata)
  const { start, code, part, known, through } = gathered
  for (let k = 0; k < known.length; k++) {
    if (known[k]! < KNOWN_FROM) continue
    const r = through.row[k]!
    addToAll(seen, looked, base, r)
    for (let j = start[k]!; j < start[k + 1]!; j++) add(seen, code[j]!, part[j]!, looked, base, r)
  }
  return seen
}

/** Stretches of so many bins that lie anyhow. */
export function seenByRange(
  looked: Looked,
  base: Float64Array,
  gathered: Gather,
  bins: number,
  ranges: readonly Range[],
): Seen {
  const seen = nothingSeen(ranges.length, looked.strata)
  const holding: number[][] = Array.from({ length: bins }, () => [])
  for (const [k, { from, until }] of ranges.entries())
    for (let bin = from; bin < until; bin++) holding[bin]!.push(k)
  const exposed = new Float64Array(ranges.length)
  const { start, code, part, known, through } = gathered
  for (let k = 0; k < known.length; k++) {
    if (known[k]! < KNOWN_FROM) continue
    const r = through.row[k]!
    addToAll(seen, looked, base, r)
    for (let j = start[k]!; j < start[k + 1]!; j++)
      for (const range of holding[code[j]!]!) exposed[range]! += part[j]!
    for (let j = start[k]!; j < start[k + 1]!; j++)
      for (const range of holding[code[j]!]!) {
        if (exposed[range]! > 0) add(seen, range, exposed[range]!, looked, base, r)
        exposed[range] = 0
      }
  }
  return seen
}

/** Stretches of so many bins that reach from the first or to the last. */
export function seenByTail(
  looked: Looked,
  base: Float64Array,
  gathered: Gather,
  bins: number,
  ranges: readonly Range[],
): Seen {
  const { strata } = looked
  const steps = nothingSeen(bins, strata)
  const { castings, found, expected, squared, all } = steps
  const { start, code, part, known, through } = gathered.inOrder()
  for (let k = 0; k < known.length; k++) {
    if (known[k]! < KNOWN_FROM) continue
    const r = through.row[k]!
    addToAll(steps, looked, base, r)
    const s = looked.stratum[r]!
    const n = looked.castings[r]!
    const y = looked.defective[r]!
    const e = n * base[r]!
    let below = 0
    for (let j = start[k]!; j < start[k + 1]!; j++) {
      const at = code[j]! * strata + s
      const x = part[j]!
      castings[at]! += x * n
      found[at]! += x * y
      expected[at]! += x * e
      // The square of a sum grows by more than the square of what is added.
      squared[at]! += x * (2 * below + x) * e
      below += x
    }
  }
  for (const sums of [castings, found, expected, squared]) addUp(sums, strata)
  return {
    strata,
    all,
    castings: ofTails(castings, all.castings, ranges),
    found: ofTails(found, all.found, ranges),
    expected: ofTails(expected, all.expected, ranges),
    // All parts of a row are 1.
    squared: squaresOfTails(squared, expected, all.expected, ranges),
  }
}

/** One candidate, of which each row has so much. */
export function seenByExposure(looked: Looked, base: Float64Array, exposure: Float64Array): Seen {
  const seen = nothingSeen(1, looked.strata)
  for (let r = 0; r < exposure.length; r++) {
    if (Number.isNaN(exposure[r]!)) continue
    addToAll(seen, looked, base, r)
    add(seen, 0, exposure[r]!, looked, base, r)
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

/** Of a row the part x to a candidate. */
function add(
  { strata, castings, found, expected, squared }: Seen,
  candidate: number,
  x: number,
  looked: Looked,
  base: Float64Array,
  r: number,
): void {
  const at = candidate * strata + looked.stratum[r]!
  const n = looked.castings[r]!
  const e = n * base[r]!
  castings[at]! += x * n
  found[at]! += x * looked.defective[r]!
  expected[at]! += x * e
  squared[at]! += x * x * e
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

function addToAll({ all }: Seen, looked: Looked, base: Float64Array, r: number): void {
  const s = looked.stratum[r]!
  const n = looked.castings[r]!
  all.castings[s]! += n
  all.found[s]! += looked.defective[r]!
  all.expected[s]! += n * base[r]!
}
