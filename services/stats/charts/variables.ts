// Charts of measured values: one by one, or in groups.
import { type Chart, charted, deviationOf, meanOf, neighbourSpread } from './chart.ts'
import { c4, d2, d3, MOST_RANGED } from './constants.ts'

export interface WithSpread {
  /** Of the values, or of the means of groups. */
  level: Chart
  /** Of the moving ranges, or of ranges or standard deviations of groups. */
  spread: Chart
}

/** Single values; their spread is told by the mean difference of neighbours. At least two values. */
export function individuals(values: ArrayLike<number>): WithSpread {
  const steps = Float64Array.from({ length: values.length - 1 }, (_, i) =>
    Math.abs(values[i + 1]! - values[i]!),
  )
  const sigma = neighbourSpread(values)
  return {
    level: charted(values, meanOf(values), () => sigma),
    spread: charted(steps, d2(2) * sigma, () => d3(2) * sigma, 0),
  }
}

/** Means and ranges of groups of one size, 2 to 25. */
export function meansByRange(groups: readonly ArrayLike<number>[]): WithSpread {
  const n = groups[0]!.length
  if (n < 2 || n > MOST_RANGED || groups.some((g) => g.length !== n))
    throw new RangeError(`groups for ranges must be of one size from 2 to ${MOST_RANGED}`)
  const ranges = groups.map((g) => Math.max(...Array.from(g)) - Math.min(...Array.from(g)))
  const mean = meanOf(ranges)
  const sigma = mean / d2(n)
  const means = groups.map(meanOf)
  return {
    level: charted(means, meanOf(means), () => sigma / Math.sqrt(n)),
    spread: charted(ranges, mean, () => d3(n) * sigma, 0),
  }
}

/** Means and standard deviations of groups of any sizes from 2 on. */
export function meansByDeviation(groups: readonly ArrayLike<number>[]): WithSpread {
  const deviations = groups.map(deviationOf)
  const sigma = meanOf(deviations.map((s, i) => s / c4(groups[i]!.length)))
  const count = groups.reduce((sum, g) => sum + g.length, 0)
  const grand = groups.reduce((sum, g) => sum + meanOf(g) * g.length, 0) / count
  const spread = charted(deviations, 0, (i) => sigma * Math.sqrt(1 - c4(groups[i]!.length) ** 2))
  for (const [i, group] of groups.entries()) {
    spread.centre[i] = sigma * c4(group.length)
    spread.lower[i] = Math.max(0, spread.centre[i]! - 3 * spread.sigma[i]!)
    spread.upper[i] = spread.centre[i]! + 3 * spread.sigma[i]!
  }
  return {
    level: charted(groups.map(meanOf), grand, (i) => sigma / Math.sqrt(groups[i]!.length)),
    spread,
  }
}
