// How a measure sits inside its limits.
import { chiSquareQuantile, normalAbove, normalQuantile } from '../distributions.ts'
import { LEVEL, type Ranged, wilson } from '../interval.ts'
import { deviationOf, meanOf, neighbourSpread } from './chart.ts'

/** At least one of the two. */
export interface Limits {
  lowest?: number
  highest?: number
}

export interface Capability {
  values: number
  /** Width of the limits over six standard deviations of neighbours; absent with one limit only. */
  withinSpread?: Ranged
  /** The same for the nearer limit, over three. */
  withinNearer: Ranged
  /** Over the standard deviation of all values. */
  wholeSpread?: Ranged
  wholeNearer: Ranged
  /** Share seen outside, and share a normal distribution of that mean and spread would have outside. */
  outside: Ranged
  outsideIfNormal: number
}

/** Capability from single values in the order they were measured; at least two that differ. */
export function capability(values: ArrayLike<number>, limits: Limits): Capability {
  const n = values.length
  const mean = meanOf(values)
  const whole = deviationOf(values)
  const within = neighbourSpread(values)
  // Neighbours' differences overlap: they are worth about 0.62 (n - 1) degrees of freedom.
  // Source: Hoel, Ann. Math. Stat. 17 (1946) 475, the efficiency of the mean successive difference (from memory).
  const freeWithin = 0.62 * (n - 1)
  let out = 0
  for (let i = 0; i < n; i++) if (isOutside(values[i]!, limits)) out++
  const spread = (sigma: number, free: number) => spreadIndex(sigma, limits, free)
  const [a, b] = [spread(within, freeWithin), spread(whole, n - 1)]
  return {
    values: n,
    ...(a && { withinSpread: a }),
    withinNearer: nearerIndex(mean, within, limits, n, freeWithin),
    ...(b && { wholeSpread: b }),
    wholeNearer: nearerIndex(mean, whole, limits, n, n - 1),
    outside: wilson(out, n),
    outsideIfNormal: outsideIfNormal(mean, whole, limits),
  }
}

/** Width of the limits over six standard deviations; interval from that of the standard deviation. */
export function spreadIndex(sigma: number, limits: Limits, free: number): Ranged | undefined {
  if (limits.lowest === undefined || limits.highest === undefined) return undefined
  const value = (limits.highest - limits.lowest) / (6 * sigma)
  const end = (p: number) => value * Math.sqrt(chiSquareQuantile(p, free) / free)
  return { value, low: end((1 - LEVEL) / 2), high: end((1 + LEVEL) / 2) }
}

/**
 * Distance from the mean to the nearer limit over three standard deviations.
 * Interval source: A. F. Bissell, Applied Statistics 39 (1990) 331 (from memory).
 */
export function nearerIndex(
  mean: number,
  sigma: number,
  limits: Limits,
  n: number,
  free: number,
): Ranged {
  const value =
    Math.min(
      limits.highest === undefined ? Number.POSITIVE_INFINITY : limits.highest - mean,
      limits.lowest === undefined ? Number.POSITIVE_INFINITY : mean - limits.lowest,
    ) /
    (3 * sigma)
  const reach =
    normalQuantile((1 + LEVEL) / 2) * Math.sqrt(1 / (9 * n) + (value * value) / (2 * free))
  return { value, low: value - reach, high: value + reach }
}

/** Share of a normal distribution outside the limits. */
export function outsideIfNormal(mean: number, sigma: number, limits: Limits): number {
  const above = limits.highest === undefined ? 0 : normalAbove((limits.highest - mean) / sigma)
  const below = limits.lowest === undefined ? 0 : normalAbove((mean - limits.lowest) / sigma)
  return above + below
}

function isOutside(value: number, { lowest, highest }: Limits): boolean {
  return (lowest !== undefined && value < lowest) || (highest !== undefined && value > highest)
}
