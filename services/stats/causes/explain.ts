// What explains the defects: every recorded factor weighed against every other, against stretches of
// time, and against "nothing recorded".
//
// Singles are weighed first, the promising ones in pairs too. The leading candidates are then refitted:
// with the effect of one put into what is expected, how much clustering is left, and what evidence for
// the others? A candidate that explains the rest away moves up. The idea of one effect at a time and of
// credible sets is that of single-effect regression (from memory: Wang, Sarkar, Carbonetto and
// Stephens, 2020).

import { correlation } from './alike.ts'
import { type Candidate, expose } from './candidate.ts'
import { type Ground, NOTHING, type Weighed, weighSingles } from './candidates.ts'
import { type Evidence, evidenceOf } from './evidence.ts'
import { type Looked, logLikelihood, tallyOf, withEffect } from './likelihood.ts'
import { type Grouping, Noise } from './noise.ts'
import { weighPairs } from './pairs.ts'
import { refined } from './refine.ts'
import { type Atoms, atomsBy, atomsOf, type Factor, type Inspected, type Of } from './table.ts'

/** Candidates looked at closely, and those of them that are refitted. */
const LEADERS = 40
const REFITTED = 8
/** Of so many the measures are cut more finely. */
const REFINED = 24

/** A candidate at the end of the search. */
export interface Believed {
  candidate: Candidate
  evidence: Evidence
  /** Part of each row that is exposed. */
  exposure: Float64Array
  /** Logarithm of its weight against "nothing", which has weight NOTHING. */
  log: number
  /** Logarithm of the weight of all variants of the cause over that of this one. */
  bonus: number
  belief: number
}

export interface Explained {
  looked: Looked
  /** Most believed first. */
  leaders: Believed[]
  /** Logarithm of the odds of some cause against nothing recorded. */
  logOdds: number
  /** Factors that were weighed. */
  weighed: number
}

/** Groups whose castings share their luck, by row or by unit. */
export interface Clusters {
  name: string
  of: Of
  codes: Int32Array
  groups: number
}

/** Searches for what explains the defects. There must be some, and not all may be defective. */
export function explain(
  inspected: Inspected,
  factors: readonly Factor[],
  clusters: readonly Clusters[],
): Explained {
  const atoms = atomsOf(inspected)
  const looked = lookedAt(inspected)
  const base = baseChances(looked)
  const noise = new Noise(looked, groupingsOf(atoms, clusters), base)
  const components = noise.components(base)
  const ground = { looked, base, atoms, factors }
  const singles = weighSingles(ground)
  const all = [...singles, ...weighPairs(ground, singles)]
  const names = refineFirst(ground, byName(all))
  const close = names.slice(0, LEADERS).map(({ best, bonus }): Believed => {
    const { candidate } = best
    const exposure = expose(atoms, factors, candidate, new Float64Array(looked.castings.length))
    const tally = tallyOf(looked, base, exposure)
    const evidence = evidenceOf(logLikelihood(tally), noise.carried(exposure, base, components))
    const log = Math.log(candidate.prior) + bonus + evidence.log
    return { candidate, evidence, exposure, log, bonus, belief: 0 }
  })
  const refitted = refit(looked, base, noise, close)
  return { looked, ...believe(refitted, restOf(names, close)), weighed: factors.length }
}

/** Variants of one cause: the one that fits best stands for all, and the others add to its weight. */
interface Named {
  best: Weighed
  weight: number
  /** Logarithm of the weight of all variants over that of the best. */
  bonus: number
}

/** Most weight first, clustering not yet counted: where a measure is cut does not depend on it. */
function byName(all: readonly Weighed[]): Named[] {
  const groups = Map.groupBy(all, ({ candidate }) => candidate.named)
  return [...groups.values()]
    .map((variants): Named => {
      const best = variants.reduce((a, b) => (weight(b) > weight(a) ? b : a))
      const sum = variants.reduce((total, each) => total + Math.exp(weight(each) - weight(best)), 0)
      return { best, weight: weight(best) + Math.log(sum), bonus: Math.log(sum) }
    })
    .sort((a, b) => b.weight - a.weight)
}

/** The first names with their measures cut more finely, in their new order. */
function refineFirst(ground: Ground, names: readonly Named[]): Named[] {
  const first = names.slice(0, REFINED).map(({ best, bonus }): Named => {
    const variants = refined(ground, best)
    const finest = variants.reduce((a, b) => (weight(b) > weight(a) ? b : a))
    const over = (log: number) => Math.exp(log - weight(finest))
    const others = Math.expm1(bonus) * over(weight(best))
    const sum = variants.reduce((total, each) => total + over(weight(each)), others)
    return { best: finest, weight: weight(finest) + Math.log(sum), bonus: Math.log(sum) }
  })
  return [...first, ...names.slice(REFINED)].sort((a, b) => b.weight - a.weight)
}

/**
 * Weight of all that was not looked at closely, where clustering counts as it did for the last of
 * those that were.
 */
function restOf(names: readonly Named[], close: readonly Believed[]): number {
  const sum = (logs: number[]) => logs.reduce((total, log) => total + Math.exp(log), 0)
  const half = LEADERS / 2
  const plain = sum(names.slice(half, LEADERS).map(({ weight }) => weight))
  const clustered = sum(close.slice(half).map(({ log }) => log))
  const counted = plain > 0 ? Math.min(1, clustered / plain) : 1
  return counted * sum(names.slice(LEADERS).map(({ weight }) => weight))
}

function weight({ candidate, evidence }: Weighed): number {
  return Math.log(candidate.prior) + evidence.log
}

function believe(leaders: Believed[], rest: number): Pick<Explained, 'leaders' | 'logOdds'> {
  const sorted = [...leaders].sort((a, b) => b.log - a.log)
  const peak = Math.max(sorted[0]?.log ?? 0, 0)
  const some = sorted.reduce((sum, { log }) => sum + Math.exp(log - peak), rest * Math.exp(-peak))
  const all = some + NOTHING * Math.exp(-peak)
  return {
    leaders: sorted.map((each) => ({ ...each, belief: Math.exp(each.log - peak) / all })),
    logOdds: Math.log(some) + peak - Math.log(NOTHING),
  }
}

/**
 * The leading candidates once more, each taken for the cause: clustering is estimated anew without what
 * it explains, and against the first of them each is held head to head: what evidence is left for this
 * one where that one is taken for the cause, and the other way round?
 */
function refit(looked: Looked, base: Float64Array, noise: Noise, close: Believed[]): Believed[] {
  const front = leadersOf(close)
  const plain = front.map(({ exposure }) => tallyOf(looked, base, exposure))
  const given = front.map((cause) => {
    const fitted = withEffect(looked, base, cause.exposure, cause.evidence.b)
    return { fitted, components: noise.components(fitted) }
  })
  const own = front.map(({ exposure }, c) => {
    const { components } = given[c]!
    return evidenceOf(logLikelihood(plain[c]!), noise.carried(exposure, base, components))
  })
  const weight = (c: number) => prior(front[c]!) + own[c]!.log
  /** Evidence left for one once another is taken for the cause. */
  const left = (one: number, another: number) => {
    const { fitted, components } = given[another]!
    const { exposure } = front[one]!
    const tally = tallyOf(looked, fitted, exposure)
    return evidenceOf(logLikelihood(tally), noise.carried(exposure, fitted, components)).log
  }
  const first = front.reduce((best, _, c) => (weight(c) > weight(best) ? c : best), 0)
  const anew = front.map((cause, c): Believed => {
    // As far as two expose the same castings they are compared head to head, else each by itself.
    const same = c === first ? 0 : correlation(looked, cause.exposure, front[first]!.exposure) ** 2
    const ahead = weight(first) + left(c, first) - left(first, c)
    const headToHead = ahead + prior(cause) - prior(front[first]!)
    return { ...cause, evidence: own[c]!, log: weight(c) + same * (headToHead - weight(c)) }
  })
  const shift = Math.min(0, front.length > 0 ? anew[first]!.log - front[first]!.log : 0)
  const others = close
    .filter((each) => !front.includes(each))
    .map((each) => ({ ...each, log: each.log + shift }))
  return [...anew, ...others]
}

/** Logarithm of the belief beforehand, all variants together. */
function prior({ candidate, bonus }: Believed): number {
  return Math.log(candidate.prior) + bonus
}

/** Those with most weight before clustering was counted, and those with most after. */
function leadersOf(close: readonly Believed[]): Believed[] {
  const after = [...close].sort((a, b) => b.log - a.log).slice(0, REFITTED)
  return [...new Set([...close.slice(0, REFITTED), ...after])]
}

function lookedAt({ castings, defective, stratum }: Inspected): Looked {
  return { castings, defective, stratum, strata: stratum.reduce((a, b) => Math.max(a, b), -1) + 1 }
}

/** The rate of each stratum, for each of its rows. */
function baseChances({ castings, defective, stratum, strata }: Looked): Float64Array {
  const n = new Float64Array(strata)
  const y = new Float64Array(strata)
  for (let r = 0; r < stratum.length; r++) {
    n[stratum[r]!]! += castings[r]!
    y[stratum[r]!]! += defective[r]!
  }
  return Float64Array.from(stratum, (s) => y[s]! / (n[s]! || 1))
}

function groupingsOf(atoms: readonly Atoms[], clusters: readonly Clusters[]): Grouping[] {
  return clusters.map(({ name, of, codes, groups }) => {
    const own = atomsBy(atoms, of)
    const byAtom = new Int32Array(own.part.length)
    for (let r = 0; r < own.rows; r++)
      for (let i = own.start[r]!; i < own.start[r + 1]!; i++) {
        const unit = own.unit[i]!
        byAtom[i] = of === 'row' ? codes[r]! : unit < 0 ? -1 : codes[unit]!
      }
    return { name, atoms: own, codes: byAtom, groups }
  })
}
