// How fast a measure grows, with what chance leaves open.

import { studentQuantile } from '../../services/stats/distributions.ts'

export interface Sample {
  /** Unit: s. */
  at: number
  value: number
}

/** Growth per second, and the ends of its interval at 95 %. */
export interface Slope {
  value: number
  low: number
  high: number
}

/**
 * The line through the least sample of each block of time: what is collected now and then is at its
 * floor there. Ordinary least squares with Student's t. Throws RangeError for fewer than 6 blocks.
 */
export function slopeOf(samples: readonly Sample[], blockSeconds: number): Slope {
  const blocks = Map.groupBy(samples, ({ at }) => Math.floor(at / blockSeconds))
  const floor = [...blocks.values()].map((block) =>
    block.reduce((least, each) => (each.value < least.value ? each : least)),
  )
  const n = floor.length
  if (n < 6) throw new RangeError(`${n} blocks of ${blockSeconds} s tell no slope: measure longer.`)
  const mean = (of: (sample: Sample) => number) => floor.reduce((sum, one) => sum + of(one), 0) / n
  const [atMean, valueMean] = [mean(({ at }) => at), mean(({ value }) => value)]
  const spread = floor.reduce((sum, { at }) => sum + (at - atMean) ** 2, 0)
  const value =
    floor.reduce((sum, one) => sum + (one.at - atMean) * (one.value - valueMean), 0) / spread
  const rest = floor.reduce(
    (sum, one) => sum + (one.value - valueMean - value * (one.at - atMean)) ** 2,
    0,
  )
  const half = studentQuantile(0.975, n - 2) * Math.sqrt(rest / (n - 2) / spread)
  return { value, low: value - half, high: value + half }
}
