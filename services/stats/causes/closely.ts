// Those that lead once luck is counted, as far as a first guess goes: worth to be fitted with it.
import { FRONT, type Ground } from './candidates.ts'
import type { Exposure } from './guesses.ts'
import { withEffect } from './likelihood.ts'
import type { Noise } from './noise.ts'
import type { Kind } from './table.ts'
import type { Named } from './variants.ts'

/** So many of a kind are weighed with a first guess at luck, however many of others are before them. */
const OF_KIND = 40
/** So many go on by that guess, and so many by what they were without. */
const LEADERS = 40
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

export function weighClosely(ground: Lucky, names: readonly Named[]): Close[] {
  const { looked, base, exposures, noise } = ground
  const components = noise.components(base)
  const exposure = new Float64Array(base.length)
  const front = frontOf(names).map((named) => {
    exposures.of(named.best.candidate.parts, exposure)
    return { named, log: weightOf(ground, named, exposure, components) }
  })
  const leaders = [...front].sort((a, b) => b.log - a.log).slice(0, LEADERS)
  return [...new Set([...front.slice(0, STRONG), ...leaders])].map(({ named }) => {
    const { candidate, evidence } = named.best
    const exposure = exposures.guessed(candidate.parts, base.length)
    const explained = withEffect(looked, base, exposure.likely, evidence.b)
    const components = noise.components(explained)
    const left = weightOf(ground, named, exposure.likely, components)
    return { named, exposure, prior: priorOf(named), components, left }
  })
}

function priorOf({ best, bonus }: Named): number {
  return Math.log(best.candidate.prior) + bonus
}

/** With the gain of an estimate whose variance is larger by what luck carries into it. */
function weightOf(
  { noise, base }: Lucky,
  named: Named,
  exposure: Float64Array,
  luck: Float64Array,
): number {
  const { b, log } = named.best.evidence
  const alone = (b * b) / (2 * Math.max(log, 0.5))
  return priorOf(named) + log / (1 + noise.carried(exposure, base, luck) / alone)
}

/** The first, and the first of each kind: single batches gain less than what lasts, until luck is counted. */
function frontOf(names: readonly Named[]): Named[] {
  const seats = new Map<Kind, number>()
  return names.filter(({ best: { candidate } }, i) => {
    const taken = seats.get(candidate.kind) ?? 0
    seats.set(candidate.kind, taken + 1)
    return i < FRONT || taken < OF_KIND
  })
}
