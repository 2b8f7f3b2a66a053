// What explains the defects: every recorded factor weighed against every other, against stretches of
// time, and against "nothing recorded".
//
// Singles are weighed first, the promising ones in pairs too, as if castings failed each by itself. Those
// that lead are weighed again with the luck of heats, sand, loads and hours, and the foremost are fitted with
// it: first with as much luck as all the counts show, then with what is left of it once the foremost has
// explained its part. The idea of one effect at a time and of credible sets is that of single-effect
// regression (from memory: Wang, Sarkar, Carbonetto and Stephens, 2020).

import { type Candidate, expose, type Part } from './candidate.ts'
import { CLOSER_FROM, type Ground, NOTHING, type Weighed, weighSingles } from './candidates.ts'
import { type Looked, withEffect } from './likelihood.ts'
import { type Fitted, Luck, logBayes, type Score } from './luck.ts'
import { type Grouping, Noise } from './noise.ts'
import { weighPairs } from './pairs.ts'
import { refined } from './refine.ts'
import { type Shared, sharedBy } from './shared.ts'
import { type Atoms, atomsBy, atomsOf, type Factor, type Inspected, type Of } from './table.ts'

/** Of so many the measures are cut more finely. */
const REFINED = 24
/** So many are weighed with a first guess at luck, of them so many with luck, and of them so many fitted. */
const FRONT = 150
const LEADERS = 30
/** Those are always among them. */
const STRONG = 20
const FITTED = 12

/** A candidate at the end of the search. */
export interface Believed {
  candidate: Candidate
  /** Size of the effect as a logarithm, and one over its variance. */
  b: number
  information: number
  /** Part of each row that is exposed. */
  exposure: Float64Array
  score: Score
  /** Size of the effect as if castings failed each by itself. */
  alone: number
  /** Logarithm of belief beforehand, all variants together. */
  prior: number
  /** Logarithm of its weight against "nothing", which has weight NOTHING. */
  log: number
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
  const ground = { looked, base, atoms, factors }
  const singles = weighSingles(ground)
  const names = refineFirst(ground, byName([...singles, ...weighPairs(ground, singles)]))
  const groupings = groupingsOf(atoms, clusters)
  const noise = new Noise(looked, groupings, base)
  const machines = groupingsOf(atoms, differing(factors, singles))
  const search: Search = {
    ...ground,
    noise,
    shared: sharedBy(looked, [...groupings, ...machines]),
    variances: (base) =>
      Float64Array.from([...noise.components(base), ...machines.map(() => MACHINES)]),
  }
  const close = weighClosely(search, names)
  const fitted = fitForemost(search, close)
  return { looked, ...believe(fitted, restOf(names, fitted)), weighed: factors.length }
}

interface Search extends Ground {
  noise: Noise
  shared: Shared
  /** Of every grouping and machine, once this is expected. */
  variances: (base: Float64Array) => Float64Array
}

/**
 * Machines of which one stands out most: even where none is the cause they differ a little, and what goes
 * with one in company must not live on that.
 */
function differing(factors: readonly Factor[], singles: readonly Weighed[]): Clusters[] {
  const most = new Map<number, number>()
  for (const { candidate, score } of singles) {
    const [{ factor }] = candidate.parts as [Part]
    if (candidate.kind === 'machine' && Math.abs(score) > CLOSER_FROM)
      most.set(factor, Math.max(most.get(factor) ?? 0, Math.abs(score)))
  }
  return [...most]
    .sort((a, b) => b[1] - a[1])
    .slice(0, DIFFERING)
    .flatMap(([f]): Clusters[] => {
      const factor = factors[f]!
      if (factor.form !== 'levels') return []
      const { name, of, codes, levels } = factor
      return [{ name, of, codes, groups: levels.length }]
    })
}
const DIFFERING = 4
/** Variance of the log odds of machines that are no cause: a standard deviation of a tenth. */
const MACHINES = 0.01

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

/** What is weighed with luck: in order, with what that weight was made of. */
interface Close {
  named: Named
  exposure: Float64Array
  /** Logarithm of belief beforehand, all variants together. */
  prior: number
  log: number
}

/** Those that lead once luck is counted, as far as a first guess goes. */
function weighClosely(
  { looked, base, atoms, factors, noise }: Search,
  names: readonly Named[],
): Close[] {
  const components = noise.components(base)
  const close = names.slice(0, FRONT).map((named): Close => {
    const { candidate, evidence } = named.best
    const exposure = expose(atoms, factors, candidate, new Float64Array(looked.castings.length))
    const carried = noise.carried(exposure, base, components)
    const prior = Math.log(candidate.prior) + named.bonus
    // The gain of an estimate whose variance is larger by what luck carries into it.
    const alone = (evidence.b * evidence.b) / (2 * Math.max(evidence.log, 0.5))
    const log = prior + evidence.log / (1 + carried / alone)
    return { named, exposure, prior, log }
  })
  const leaders = [...close].sort((a, b) => b.log - a.log).slice(0, LEADERS)
  return [...new Set([...close.slice(0, STRONG), ...leaders])]
}

/**
 * Weighs with luck and fits the foremost, each with the luck that it leaves. Beside luck alone a cause is worth
 * the mean of what it gains with the luck that fits best without it and with the luck that it leaves.
 */
function fitForemost(
  { looked, base, shared, variances }: Search,
  close: readonly Close[],
): Believed[] {
  const without = new Luck(looked, shared, base, variances(base))
  const scores = close.map((one) => scored(without, one)).sort((a, b) => b.log - a.log)
  const rivals = scores.slice(0, FITTED).map((one): Rival => {
    const { exposure, alone, prior } = one
    const left = variances(withEffect(looked, base, exposure, alone))
    const own = new Luck(looked, shared, base, left, without)
    const fitted = own.fit(exposure, isDose(one))
    const { b, information, gain } = fitted
    const most = prior + logBayes(gain, b, information)
    const log = (most + one.log) / 2
    return { ...one, own, fitted, b, information, most, log, gains: new Map([[own, gain]]) }
  })
  return [...headToHead(without, rivals), ...scores.slice(FITTED)].sort((a, b) => b.log - a.log)
}

/** One that was fitted, with the luck that it leaves and what it gains with that of others. */
interface Rival extends Believed {
  own: Luck
  fitted: Fitted
  /** Logarithm of its weight with the luck that it leaves: more than that it has not. */
  most: number
  gains: Map<Luck, number>
}

/**
 * How much likelier all is with one cause than with another, each with the luck that fits best beside it, is
 * the mean of how much likelier it is with the luck that the one leaves and with the luck that the other
 * leaves: too much and too little, and alike so far as both ways are parabolas. Each is held against the
 * first that way, and one that beats it takes its place.
 */
function headToHead(without: Luck, rivals: readonly Rival[]): Believed[] {
  let order = [...rivals].sort((a, b) => b.log - a.log)
  for (let round = 0; round < ROUNDS && order[0]; round++) {
    const [first] = order
    const log = weightAt(first, (gainOf(first, without) + gainOf(first, first.own)) / 2)
    const lead = weightAt(first, gainOf(first, first.own))
    order = order
      .map((one) => {
        if (one === first) return { ...one, log }
        if (one.most < log - HOPELESS) return { ...one, log: Math.min(one.log, one.most) }
        const ahead = [first.own, one.own].map((luck) => gainOf(one, luck) - gainOf(first, luck))
        const gain = gainOf(first, first.own) + (ahead[0]! + ahead[1]!) / 2
        return { ...one, log: log + weightAt(one, gain) - lead }
      })
      .sort((a, b) => b.log - a.log)
    if (order[0]!.candidate === first.candidate) break
  }
  return order
}
const ROUNDS = 3
/** Who has less than the first by so much, even with the luck it leaves, is not held against it. */
const HOPELESS = 10

function gainOf(one: Rival, luck: Luck): number {
  const { exposure, gains, fitted } = one
  const gain = gains.get(luck) ?? luck.fit(exposure, isDose(one), fitted).gain
  gains.set(luck, gain)
  return gain
}

function weightAt({ prior, b, information }: Rival, gain: number): number {
  return prior + logBayes(gain, b, information)
}

function isDose({ candidate }: Believed): boolean {
  return candidate.kind === 'lot'
}

function scored(luck: Luck, { named, exposure, prior }: Close): Believed {
  const score = luck.score(exposure)
  const { b, information } = score
  const log = prior + logBayes(0.5 * b * b * information, b, information)
  const { candidate, evidence } = named.best
  return { candidate, b, information, exposure, score, alone: evidence.b, log, prior, belief: 0 }
}

/** Weight of all that was not weighed with luck, where that counts as it did for the last of those that were. */
function restOf(names: readonly Named[], close: readonly Believed[]): number {
  const sum = (logs: number[]) => logs.reduce((total, log) => total + Math.exp(log), 0)
  const last = close.at(-1)?.log ?? 0
  const rest = names.filter(
    ({ best }) => !close.some(({ candidate }) => candidate === best.candidate),
  )
  return sum(rest.map(({ weight }) => Math.min(weight, last)))
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
