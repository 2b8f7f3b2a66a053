// From a likelihood on the grid to evidence: how much better "this is a cause" explains the counts than
// "it is not", as if castings failed each by itself. It is the first look; luck is counted after it.

import { GRID } from './likelihood.ts'
import { CAUSE_FROM, CAUSE_UNTIL, logBayes } from './luck.ts'

export interface Evidence {
  /** Logarithm of the Bayes factor, cause against none. */
  log: number
  /** Most likely size of the effect, as a logarithm. */
  b: number
}

/** Evidence from a logarithm of the likelihood on the grid, less that of no effect. */
export function evidenceOf(logLikelihood: Float64Array): Evidence {
  const peak = Math.max(...logLikelihood)
  let [sum, best, points] = [0, 0, 0]
  for (let j = 0; j < GRID.length; j++) {
    if (logLikelihood[j]! > logLikelihood[best]!) best = j
    if (GRID[j]! < CAUSE_FROM || GRID[j]! > CAUSE_UNTIL) continue
    points++
    sum += Math.exp(logLikelihood[j]! - peak)
  }
  return { log: peak + Math.log(sum / points + Number.MIN_VALUE), b: GRID[best]! }
}

/** The same of a likelihood that is a parabola, from its slope and curvature where there is no effect. */
export function evidenceOfParabola(score: number, information: number): Evidence {
  if (!(information > 0)) return { log: 0, b: 0 }
  const b = score / information
  return { log: logBayes(0.5 * b * score, b, information), b: Math.min(b, GRID.at(-1)!) }
}
