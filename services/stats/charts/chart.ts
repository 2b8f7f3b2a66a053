// What every chart comes to: points, a centre and limits for each, and the spread run rules count in.
import { d2 } from './constants.ts'

/** Columns of one length. */
export interface Chart {
  value: Float64Array
  centre: Float64Array
  lower: Float64Array
  upper: Float64Array
  /** Standard deviation expected of a point. */
  sigma: Float64Array
}

/** Limits lie three standard deviations from the centre. Source: Shewhart, Economic Control of Quality (1931). */
const REACH = 3

/** A chart with three-sigma limits, cut off at the least a value can be. */
export function charted(
  value: ArrayLike<number>,
  centre: number,
  sigmaAt: (point: number) => number,
  least = Number.NEGATIVE_INFINITY,
  most = Number.POSITIVE_INFINITY,
): Chart {
  const n = value.length
  const sigma = Float64Array.from({ length: n }, (_, i) => sigmaAt(i))
  return {
    value: Float64Array.from(value),
    centre: new Float64Array(n).fill(centre),
    sigma,
    lower: sigma.map((s) => Math.max(least, centre - REACH * s)),
    upper: sigma.map((s) => Math.min(most, centre + REACH * s)),
  }
}

export function meanOf(values: ArrayLike<number>): number {
  let sum = 0
  for (let i = 0; i < values.length; i++) sum += values[i]!
  return sum / values.length
}

/** Sample standard deviation. */
export function deviationOf(values: ArrayLike<number>): number {
  const mean = meanOf(values)
  let sum = 0
  for (let i = 0; i < values.length; i++) sum += (values[i]! - mean) ** 2
  return Math.sqrt(sum / (values.length - 1))
}

/** Standard deviation from the mean difference of neighbours: a slow drift does not widen it. */
export function neighbourSpread(values: ArrayLike<number>): number {
  let sum = 0
  for (let i = 1; i < values.length; i++) sum += Math.abs(values[i]! - values[i - 1]!)
  return sum / (values.length - 1) / d2(2)
}
