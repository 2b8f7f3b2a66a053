// Charts that remember: small lasting shifts show sooner than on charts of single points.
import type { Chart } from './chart.ts'

/**
 * Exponentially weighted moving average, starting at the centre; limits widen with the points.
 * Source: S. W. Roberts, Technometrics 1 (1959) 239; form of NIST/SEMATECH e-Handbook 6.3.2.4.
 */
export function movingAverage(
  values: ArrayLike<number>,
  {
    centre,
    sigma,
    weight = 0.3,
    reach = 3,
  }: { centre: number; sigma: number; weight?: number; reach?: number },
): Chart {
  const n = values.length
  const chart: Chart = {
    value: new Float64Array(n),
    centre: new Float64Array(n).fill(centre),
    lower: new Float64Array(n),
    upper: new Float64Array(n),
    sigma: new Float64Array(n),
  }
  let average = centre
  for (let i = 0; i < n; i++) {
    average += weight * (values[i]! - average)
    const part = (weight / (2 - weight)) * (1 - (1 - weight) ** (2 * (i + 1)))
    const spread = sigma * Math.sqrt(part)
    chart.value[i] = average
    chart.sigma[i] = spread
    chart.lower[i] = centre - reach * spread
    chart.upper[i] = centre + reach * spread
  }
  return chart
}

export interface Sums {
  /** How far values have run above the target beyond the slack, and below it. Never under 0. */
  high: Float64Array
  low: Float64Array
  /** Points since each sum last was 0: how long ago the shift began, once the sum signals. */
  highRun: Int32Array
  lowRun: Int32Array
  /** First point at which either passes the decision limit; -1 if none. */
  signal: number
}

/**
 * Two one-sided cumulative sums. Slack and decision limit in the unit of the values.
 * Source: E. S. Page, Biometrika 41 (1954) 100; form of NIST/SEMATECH e-Handbook 6.3.2.3.
 */
export function cumulativeSums(
  values: ArrayLike<number>,
  { target, slack, limit }: { target: number; slack: number; limit: number },
): Sums {
  const n = values.length
  const sums: Sums = {
    high: new Float64Array(n),
    low: new Float64Array(n),
    highRun: new Int32Array(n),
    lowRun: new Int32Array(n),
    signal: -1,
  }
  let [high, low, highRun, lowRun] = [0, 0, 0, 0]
  for (let i = 0; i < n; i++) {
    high = Math.max(0, high + values[i]! - target - slack)
    low = Math.max(0, low + target - values[i]! - slack)
    highRun = high > 0 ? highRun + 1 : 0
    lowRun = low > 0 ? lowRun + 1 : 0
    sums.high[i] = high
    sums.low[i] = low
    sums.highRun[i] = highRun
    sums.lowRun[i] = lowRun
    if (sums.signal < 0 && (high > limit || low > limit)) sums.signal = i
  }
  return sums
}

/** Slack and decision limit as NIST/SEMATECH e-Handbook 6.3.2.3 takes them for shifts of one standard deviation. */
const SLACK = 0.5
const DECISION = 5

/** Both sums as one chart: of the two the one further out, as rules look at that one; `below` is the lower. */
export function sumsChart(
  values: ArrayLike<number>,
  target: number,
  sigma: number,
): { level: Chart; below: Float64Array } {
  const limit = DECISION * sigma
  const { high, low } = cumulativeSums(values, { target, slack: SLACK * sigma, limit })
  const fill = (value: number) => new Float64Array(values.length).fill(value)
  const level: Chart = {
    value: high.map((above, i) => (above >= low[i]! ? above : -low[i]!)),
    centre: fill(0),
    lower: fill(-limit),
    upper: fill(limit),
    sigma: fill(limit / 3),
  }
  return { level, below: low.map((one) => -one) }
}
