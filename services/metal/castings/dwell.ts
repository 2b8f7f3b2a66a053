// How long castings take from one place to the next, learned from reports that name both ends.

/** What was learned, in whatever is counted: strokes of a line, or minutes on a logarithmic scale. */
export interface Dwell {
  /** Reports it was learned from. */
  named: number
  middle: number
  spread: number
  /** Outside of these it is ruled out. */
  least: number
  most: number
}

/** With fewer named examples nothing is filled in. */
export const FEWEST = 8
/** From so many on, what lies outside of the limits is ruled out. */
export const ENOUGH = 30

/**
 * Median and median absolute deviation, so that a mistaken scan moves neither. The limits are the
 * least and greatest seen, each moved out by the whole range between them, and at least by six spreads
 * and ten units: a mistaken scan makes them wider, never narrower. Rounded, so that a new report seldom changes them.
 */
export function learn(seen: readonly number[], unit: number): Dwell | undefined {
  if (seen.length < FEWEST) return undefined
  const sorted = Float64Array.from(seen).sort()
  const middle = median(sorted)
  const off = sorted.map((one) => Math.abs(one - middle)).sort()
  const spread = coarse(Math.max(NORMAL * median(off), unit / 2), unit)
  const [first, last] = [sorted[0]!, sorted.at(-1)!]
  const slack = Math.max(last - first, 6 * spread, 10 * unit)
  return {
    named: seen.length,
    middle: Math.round(middle / unit) * unit,
    spread,
    least: Math.floor((first - slack) / unit) * unit,
    most: Math.ceil((last + slack) / unit) * unit,
  }
}

/** How likely a dwell is, without scale: as Student's t with three degrees of freedom, for its long tails. */
export function likelihood({ middle, spread, least, most }: Dwell, dwell: number): number {
  if (dwell < least || dwell > most) return 0
  const z = (dwell - middle) / spread
  return 1 / ((1 + (z * z) / 3) ** 2 * spread)
}

/**
 * Part of a load that stays of unknown origin because few examples are known. Of n dwells alike in
 * distribution and one more, the last lies beyond the others with chance 2 / (n + 1), whatever the
 * distribution; once there are enough, the moved-out limits stand for that.
 */
export function openPart({ named }: Dwell): number {
  return named >= ENOUGH ? 0 : 2 / (named + 1)
}

// Median absolute deviation of a normal distribution, in standard deviations: 1 / 0.6745.
const NORMAL = 1.4826

function median(sorted: Float64Array): number {
  const half = sorted.length >> 1
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2
}

/** Up to the next of ten steps in every tenfold. */
function coarse(spread: number, unit: number): number {
  return unit * 10 ** (Math.ceil(10 * Math.log10(spread / unit)) / 10)
}
