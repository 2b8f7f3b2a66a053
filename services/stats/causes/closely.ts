// Those that lead once luck is counted, as far as a first guess goes: worth to be fitted with it.
import type { Ground } from './candidates.ts'
import type { Exposure } from './guesses.ts'
import { withEffect } from './likelihood.ts'
import type { Noise } from './noise.ts'
import type { Named } from './variants.ts'

/** So many are weighed with a first guess at luck, of them so many go on. */
const FRONT = 150
const LEADERS = 40
/** Those always do. */
const STRONG = 20

export interface Close {
  named: Named
  exposure: Exposure
  /** Logarithm of belief beforehand, all variants together. */
  prior: number
  /** Variances of the groupings once it has explained its part. */
  components: Float64Array
  /** Logarithm of its weight with those. */
  left: number
}

/** What is weighed with luck, and who shares it. */
export interface Lucky extends Ground {
  noise: Noise
}

export function weighClosely(
  { looked, base, exposures, noise }: Lucky,
  names: readonly Named[],
): Close[] {
  const components = noise.components(base)
  const front = names.slice(0, FRONT).map((named) => {
    const { candidate, evidence } = named.best
    const exposure = exposures.guessed(candidate.parts, base.length)
    const prior = Math.log(candidate.prior) + named.bonus
    // The gain of an estimate whose variance is larger by what luck carries into it.
    const alone = (evidence.b * evidence.b) / (2 * Math.max(evidence.log, 0.5))
    const weigh = (luck: Float64Array) =>
      prior + evidence.log / (1 + noise.carried(exposure.likely, base, luck) / alone)
    return { named, exposure, prior, weigh, log: weigh(components) }
  })
  const leaders = [...front].sort((a, b) => b.log - a.log).slice(0, LEADERS)
  return [...new Set([...front.slice(0, STRONG), ...leaders])].map(
    ({ named, exposure, prior, weigh }) => {
      const explained = withEffect(looked, base, exposure.likely, named.best.evidence.b)
      const components = noise.components(explained)
      return { named, exposure, prior, components, left: weigh(components) }
    },
  )
}
