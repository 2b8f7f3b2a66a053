// What may be said of a share, from what reports leave open and what weighing leaves in doubt. The two
// are of two kinds: where a heel was not told, nothing is likelier than anything else; errors of weighing
// gather around what was weighed.
import type { Span } from './ledger.ts'

/** Standard deviations to either side: of an interval that holds 95 in 100, and of what counts as sure. */
const LIKELY = 1.96
const SURE = 4

// Slag, splash, metal that does not mix to the last gram: what no weight tells. From memory.
const UNTOLD = 0.02
// Beyond that a first-order spread says no more than that the share may be anything.
const WORST = 1.5

/** Standard deviation of the logarithm of a share: of a part of it, since shares end at 0. */
export function doubtOf({ best, spread }: Span): number {
  if (best <= 0) return UNTOLD
  return Math.min(WORST, Math.hypot(spread / best, UNTOLD))
}

/** Ends of a share: what an interval that holds 95 in 100 lies between, or what nothing is beyond. */
export interface Ends {
  low: number
  high: number
}

/** Of what came out of layers each order in which they may have been taken is likely, and no other. */
export function likelyEnds(span: Span): Ends {
  const open = openEnds(span)
  const values = ordered(span)
  const ends = values ? { low: Math.min(...values), high: Math.max(...values) } : open
  const { low, high } = widened(ends, LIKELY * likelyDoubt(span))
  // Best keeps to what was said, and is told beside.
  return { low: Math.min(low, span.best), high: Math.max(high, span.best) }
}

/** Whatever reports leave open may be. */
export function sureEnds(span: Span): Ends {
  return widened(openEnds(span), SURE * doubtOf(span))
}

/** What charges came to is no proof either, but nothing that it makes likely is left out. */
function openEnds({ best, low, high, likely }: Span): Ends {
  const mixed = likely?.mixed ?? best
  return { low: Math.min(low, best, mixed), high: Math.max(high, best, mixed) }
}

/** The share were the first taken first, were all mixed, and were the last taken first; undefined where they are one. */
function ordered(span: Span): [first: number, mixed: number, last: number] | undefined {
  if (!span.likely?.orders) return undefined
  const { mixed, orders } = span.likely
  const { low, high } = openEnds(span)
  const within = (value: number) => Math.min(Math.max(value, low), high)
  return [within(orders.first), mixed, within(orders.last)]
}

/** What gauges leave of the doubt. */
function likelyDoubt(span: Span): number {
  return doubtOf(span) * (span.likely?.left ?? 1)
}

function widened({ low, high }: Ends, logarithm: number): Ends {
  const factor = Math.exp(logarithm)
  return { low: low / factor, high: Math.min(1, high * factor) }
}

/** How likely what lies in layers is taken first in first out, as if mixed, and last in first out; together 1. */
export interface Orders {
  first: number
  mixed: number
  last: number
}

/** Nobody knows in which order anything is taken. */
export const ANY_ORDER: Orders = { first: 1 / 3, mixed: 1 / 3, last: 1 / 3 }

/**
 * Chance that a share is at least `share`. About each value it may have, weighing leaves the logarithm normal, and
 * the mean that value. What came out of layers has a value for each order in which they may have been taken. What else
 * reports leave open, such as a heel, is as likely the best value as one end or the other, so often that the mean
 * stays the best.
 */
export function chanceAtLeast(span: Span, share: number, orders = ANY_ORDER): number {
  const doubt = likelyDoubt(span)
  const above = (value: number) =>
    value <= 0 ? 0 : normalBelow(Math.log(value / share) / doubt - doubt / 2)
  const values = ordered(span)
  if (values) {
    const [first, mixed, last] = values.map(above) as typeof values
    return orders.first * first + orders.mixed * mixed + orders.last * last
  }
  const { best, likely } = span
  const mixed = likely?.mixed ?? best
  const low = Math.min(span.low, best)
  const high = Math.max(span.high, best)
  if (low === high) return above(mixed)
  const part = (best - low) / (high - low)
  return (above(mixed) + part * above(high) + (1 - part) * above(low)) / 2
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

/** The same with so much more in it. */
export function withMore(span: Span, more: number): Span {
  const and = (value: number) => Math.min(1, value + more)
  const { best, high, likely } = span
  const orders = likely?.orders
  const most = Math.max(and(best), high, and(orders?.first ?? 0), and(orders?.last ?? 0))
  if (!likely) return { ...span, best: and(best), high: most }
  const mixed = and(likely.mixed)
  const others = orders && { orders: { first: and(orders.first), last: and(orders.last) } }
  return {
    ...span,
    best: and(best),
    high: Math.max(most, mixed),
    likely: { ...likely, mixed, ...others },
  }
}
