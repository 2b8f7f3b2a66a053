// The foremost, fitted with luck: first with as much of it as all the counts show, then with what is left of
// it once the foremost has explained its part, and at last against each other.
import type { Candidate } from './candidate.ts'
import type { Close, Lucky } from './closely.ts'
import type { Exposure } from './guesses.ts'
import { type Fitted, Luck, logBayes, type Score } from './luck.ts'
import type { Shared } from './shared.ts'

/** So many are fitted. */
const FITTED = 12
/** Who has less than the first by so much, even with the luck it leaves, is not held against it. */
const HOPELESS = 10

/** A candidate at the end of the search. */
export interface Believed {
  candidate: Candidate
  /** Size of the effect as a logarithm, and one over its variance. */
  b: number
  information: number
  exposure: Exposure
  score: Score
  /** Logarithm of belief beforehand, all variants together. */
  prior: number
  /** Logarithm of its weight against "nothing", which has weight NOTHING. */
  log: number
  belief: number
}

/** Who shares luck, and how much of it there is. */
export interface Sharing extends Lucky {
  shared: Shared
  /** Variances of all that share luck, with those of groupings. */
  variances: (components: Float64Array) => Float64Array
}

/**
 * Weighs with luck and fits the foremost, each with the luck that it leaves. Beside luck alone a cause is worth
 * the mean of what it gains with the luck that fits best without it and with the luck that it leaves.
 */
export function fitForemost(
  { looked, base, noise, shared, variances }: Sharing,
  close: readonly Close[],
): Believed[] {
  const without = new Luck(looked, shared, base, variances(noise.components(base)))
  const scores = close
    .map((one) => ({ close: one, scored: scored(without, one) }))
    .sort((a, b) => b.scored.log + b.close.left - a.scored.log - a.close.left)
  const rivals: Rival[] = []
  let most = Number.NEGATIVE_INFINITY
  for (const { close, scored } of scores.slice(0, FITTED)) {
    // First guesses of large effects are too small, but not by half.
    if (Math.max(close.left, scored.log) < most / 2 - HOPELESS) continue
    const rival = fittedOf(
      scored,
      new Luck(looked, shared, base, variances(close.components), without),
    )
    rivals.push(rival)
    most = Math.max(most, rival.log)
  }
  const fitted = new Set(rivals.map(({ candidate }) => candidate))
  const others = scores
    .map(({ scored }) => scored)
    .filter(({ candidate }) => !fitted.has(candidate))
  return [...headToHead(without, rivals), ...others].sort((a, b) => b.log - a.log)
}

function fittedOf(one: Believed, own: Luck): Rival {
  const { exposure, prior } = one
  const fitted = own.fit(exposure, isDose(one), one.score.solved)
  const { b, information, gain } = fitted
  const most = prior + logBayes(gain, b, information)
  const log = (most + one.log) / 2
  return { ...one, own, fitted, b, information, most, log, gains: new Map([[own, gain]]) }
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

function gainOf(one: Rival, luck: Luck): number {
  const { exposure, gains, fitted } = one
  const gain = gains.get(luck) ?? luck.fit(exposure, isDose(one), fitted.solved, fitted).gain
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
  return { candidate: named.best.candidate, b, information, exposure, score, log, prior, belief: 0 }
}
