// What the range and the standard deviation of n normal values come to, in standard deviations.
import { logFactorial, normalAbove } from '../distributions.ts'

/** Groups larger than this are told by their standard deviation, not by their range. */
export const MOST_RANGED = 25

/** Mean of a standard deviation of n values over the true one; exact. */
export function c4(n: number): number {
  return Math.sqrt(2 / (n - 1)) * Math.exp(logFactorial(n / 2 - 1) - logFactorial((n - 3) / 2))
}

/** Mean of the range of n values, in standard deviations. */
export const d2 = remembered(meanRange)

/** Standard deviation of the range of n values, in standard deviations. */
export const d3 = remembered((n) => Math.sqrt(meanSquaredRange(n) - d2(n) ** 2))

const STEP = 0.02
const END = 8

/** Distribution function of the standard normal at the places the integrals need. */
const BELOW = Float64Array.from(
  { length: Math.round((2 * END) / STEP) + 1 },
  (_, i) => 1 - normalAbove(i * STEP - END),
)

/** The integral of 1 - F^n - (1 - F)^n. On a smooth function that fades at both ends plain sums converge fastest. */
function meanRange(n: number): number {
  let sum = 0
  for (const f of BELOW) sum += 1 - f ** n - (1 - f) ** n
  return sum * STEP
}

/**
 * Twice the integral over x < y of 1 - F(y)^n - (1 - F(x))^n + (F(y) - F(x))^n. The edge at x = y costs
 * plain sums their precision: two step widths take the square of the step out (Richardson).
 */
function meanSquaredRange(n: number): number {
  return (4 * overTriangle(n, 1) - overTriangle(n, 2)) / 3
}

function overTriangle(n: number, stride: number): number {
  const step = STEP * stride
  let sum = 0
  for (let j = stride; j < BELOW.length; j += stride) {
    const high = BELOW[j]!
    const most = 1 - high ** n
    for (let i = 0; i < j; i += stride) {
      const low = BELOW[i]!
      sum += most - (1 - low) ** n + (high - low) ** n
    }
    sum += (most - (1 - high) ** n) / 2
  }
  return 2 * sum * step * step
}

function remembered(of: (n: number) => number): (n: number) => number {
  const known = new Map<number, number>()
  return (n) => {
    const value = known.get(n) ?? of(n)
    known.set(n, value)
    return value
  }
}
