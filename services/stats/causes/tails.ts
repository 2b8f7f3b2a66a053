// Stretches of bins that reach from the first bin or to the last. What of a row lies below a cut rises with the
// cut in steps, one for each bin it has; so only those are noted, by bin and stratum, and added up along the cuts.
import type { Range } from './ranges.ts'

/** Steps become what lies below each cut. */
export function addUp(steps: Float64Array, strata: number): void {
  for (let at = strata; at < steps.length; at++) steps[at]! += steps[at - strata]!
}

/** What lies below the cut of each range, or above it: all less that. */
export function ofTails(
  below: Float64Array,
  all: Float64Array,
  ranges: readonly Range[],
): Float64Array {
  const strata = all.length
  const sums = new Float64Array(ranges.length * strata)
  for (const [k, range] of ranges.entries())
    for (let s = 0; s < strata; s++) {
      const at = belowOf(range) * strata + s
      sums[k * strata + s] = range.from === 0 ? below[at]! : all[s]! - below[at]!
    }
  return sums
}

/** The same of the square of the part of each row: of all of it, w, (w − p)² = w² − 2·w·p + p². */
export function squaresOfTails(
  below: Float64Array,
  belowTimesAll: Float64Array,
  all: Float64Array,
  ranges: readonly Range[],
): Float64Array {
  const strata = all.length
  const sums = new Float64Array(ranges.length * strata)
  for (const [k, range] of ranges.entries())
    for (let s = 0; s < strata; s++) {
      const at = belowOf(range) * strata + s
      sums[k * strata + s] =
        range.from === 0 ? below[at]! : all[s]! - 2 * belowTimesAll[at]! + below[at]!
    }
  return sums
}

/** The last bin below the cut of a range. */
function belowOf({ from, until }: Range): number {
  return (from === 0 ? until : from) - 1
}
