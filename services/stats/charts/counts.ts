// Charts of counts: share defective, defects a piece.
import { type Chart, charted, meanOf, neighbourSpread } from './chart.ts'

/** Looked at and found, one entry a point. */
export interface Counted {
  found: ArrayLike<number>
  of: ArrayLike<number>
}

/** Share defective, one binomial for all points. */
export function shareChart({ found, of }: Counted): Chart {
  const share = total(found) / total(of)
  return charted(ratios({ found, of }), share, (i) => binomialSpread(share, of[i]!), 0, 1)
}

/**
 * Share defective where points differ by more than chance, as large groups do: the spread between
 * neighbours, counted in binomial spreads, widens or narrows the limits.
 * Source: D. B. Laney, Quality Engineering 14 (2002) 531 (from memory).
 */
export function overdispersedShareChart({ found, of }: Counted): Chart {
  const share = total(found) / total(of)
  const values = ratios({ found, of })
  const z = values.map((p, i) => (p - share) / binomialSpread(share, of[i]!))
  const between = neighbourSpread(z)
  return charted(values, share, (i) => between * binomialSpread(share, of[i]!), 0, 1)
}

/** Defects a piece, one Poisson rate for all points. */
export function rateChart({ found, of }: Counted): Chart {
  const rate = total(found) / total(of)
  return charted(ratios({ found, of }), rate, (i) => Math.sqrt(rate / of[i]!), 0)
}

/** Defects in pieces of one size. */
export function countChart(found: ArrayLike<number>): Chart {
  const mean = meanOf(found)
  return charted(found, mean, () => Math.sqrt(mean), 0)
}

function binomialSpread(share: number, n: number): number {
  return Math.sqrt((share * (1 - share)) / n)
}

function ratios({ found, of }: Counted): Float64Array {
  return Float64Array.from({ length: found.length }, (_, i) => found[i]! / of[i]!)
}

function total(values: ArrayLike<number>): number {
  return meanOf(values) * values.length
}
