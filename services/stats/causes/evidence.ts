// From likelihood to evidence: how much better "this is a cause" explains the counts than "it is not",
// when things that are no cause are not all alike either.
import { normalAbove } from '../distributions.ts'
import { GRID, STEP } from './likelihood.ts'

/** A cause multiplies odds by e^b, b anywhere from log 1.4 to 3: smaller ones cannot be told. */
const CAUSE_FROM = Math.log(1.4)
const CAUSE_UNTIL = 3
/** What is no cause differs a little all the same. Unit: standard deviation of b. */
const FLOOR = 0.08

export interface Evidence {
  /** Logarithm of the Bayes factor, cause against none. */
  log: number
  /** Most likely size of the effect, as a logarithm. */
  b: number
  /** 95 % interval of it. */
  low: number
  high: number
}

/**
 * Evidence from a likelihood on the grid. `noise` is the variance of b that clustering alone carries
 * into this exposure: without a cause b is normal around 0 with it, with one it adds to the cause.
 */
export function evidenceOf(logLikelihood: Float64Array, noise: number): Evidence {
  const { cause, none } = noise === 0 ? ALONE : priorsOf(Math.sqrt(noise + FLOOR * FLOOR))
  const peak = Math.max(...logLikelihood)
  let [sumCause, sumNone] = [0, 0]
  const posterior = new Float64Array(GRID.length)
  for (let j = 0; j < GRID.length; j++) {
    const likelihood = Math.exp(logLikelihood[j]! - peak)
    posterior[j] = likelihood * cause[j]!
    sumCause += posterior[j]!
    sumNone += likelihood * none[j]!
  }
  const log = Math.log(sumCause + Number.MIN_VALUE) - Math.log(sumNone + Number.MIN_VALUE)
  return { log, ...intervalOf(posterior, sumCause) }
}

/** Beliefs of b on the grid: without a cause a normal around 0, with one an even slab blurred by the same. */
function priorsOf(spread: number): { cause: Float64Array; none: Float64Array } {
  const above = (from: number) => GRID.map((b) => normalAbove((from - b) / spread))
  const [from, until] = [above(CAUSE_FROM), above(CAUSE_UNTIL)]
  return {
    cause: normalized(from.map((chance, j) => chance - until[j]!)),
    none: normalized(GRID.map((b) => Math.exp(-0.5 * (b / spread) ** 2))),
  }
}

function normalized(weights: Float64Array): Float64Array {
  const sum = weights.reduce((total, weight) => total + weight, 0)
  return weights.map((weight) => weight / sum)
}

function intervalOf(posterior: Float64Array, sum: number): Omit<Evidence, 'log'> {
  const best = posterior.indexOf(Math.max(...posterior))
  let [below, low, high] = [0, Number.NaN, Number.NaN]
  for (let j = 0; j < posterior.length; j++) {
    below += posterior[j]! / (sum || 1)
    if (Number.isNaN(low) && below >= 0.025) low = GRID[j]! - STEP / 2
    if (Number.isNaN(high) && below >= 0.975) high = GRID[j]! + STEP / 2
  }
  return { b: GRID[best]!, low, high: Number.isNaN(high) ? GRID.at(-1)! : high }
}

/** Most candidates are first looked at as if castings failed each by itself. */
const ALONE = priorsOf(FLOOR)
