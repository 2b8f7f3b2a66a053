// What may be said of a share, from what reports leave open and what weighing leaves in doubt. The two
// are of two kinds: where a heel was not told, nothing is likelier than anything else; errors of weighing
// gather around what was weighed.
import type { Span } from './ledger.ts'

/** Standard deviations to either side: of an interval that holds 95 in 100, and of what counts as sure. */
export const LIKELY = 1.96
export const SURE = 4

// Slag, splash, metal that does not mix to the last gram: what no weight tells. From memory.
const UNTOLD = 0.02
// Beyond that a first-order spread says no more than that the share may be anything.
const WORST = 1.5

/** Standard deviation of the logarithm of a share: of a part of it, since shares end at 0. */
export function doubtOf({ best, spread }: Span): number {
  if (best <= 0) return UNTOLD
  return Math.min(WORST, Math.hypot(spread / best, UNTOLD))
}

/** Ends of a share: what reports leave open, widened by so many standard deviations. */
export function endsOf(span: Span, deviations: number): { low: number; high: number } {
  const factor = Math.exp(deviations * doubtOf(span))
  return {
    low: Math.min(span.low, span.best) / factor,
    high: Math.min(1, Math.max(span.high, span.best) * factor),
  }
}

/**
 * Chance that a share is at least `share`. Where reports leave it open, as of a bay that may have mixed or
 * may lie in layers, one is as likely as the other: mixed it is the best value; of layers it is one end or
 * the other, so often that the mean stays the best value. About each, weighing leaves the logarithm normal.
 */
export function chanceAtLeast(span: Span, share: number): number {
  const doubt = doubtOf(span)
  const above = (end: number) => (end <= 0 ? 0 : normalBelow(Math.log(end / share) / doubt))
  const low = Math.min(span.low, span.best)
  const high = Math.max(span.high, span.best)
  if (low === high) return above(span.best)
  const part = (span.best - low) / (high - low)
  return (above(span.best) + part * above(high) + (1 - part) * above(low)) / 2
}

/**
 * Chance that a standard normal value lies below z, within 7.5e-8.
 * Source: M. Abramowitz and I. Stegun, Handbook of Mathematical Functions (1964), 26.2.17.
 */
export function normalBelow(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z))
  const series =
    t * (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
  const above = (series * Math.exp((-z * z) / 2)) / Math.sqrt(2 * Math.PI)
  return z > 0 ? 1 - above : above
}
