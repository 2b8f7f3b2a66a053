// Two conditions at once as one candidate.
import { isTail, type Part } from './candidate.ts'
import {
  BELIEF,
  between,
  CLOSER_FROM,
  FRONT,
  type Ground,
  NOTHING,
  type Weighed,
} from './candidates.ts'
import { Gate } from './company.ts'
import { type Evidence, evidenceOf } from './evidence.ts'
import { logLikelihood, tallyOf, withEffect } from './likelihood.ts'
import { type Bins, tailsOf } from './ranges.ts'
import { type Atoms, atomsBy, type Factor, type Of } from './table.ts'
import { byName } from './variants.ts'

/** So many of the most promising machines are looked at in company, and so many of the measures and times. */
const GATES = { machine: 12, other: 8 }
/** Of the company of each so many factors are weighed, those with cuts in so many variants. */
const COMPANY = 10
const VARIANTS = 3
/** What company adds to a machine by itself is worth a look from so many standard deviations on. */
const ADDS_FROM = 2.5

/**
 * Two conditions at once: a machine with another, or with a measure beyond a cut, or from or until a
 * time. What shows by itself is looked at in company, for what the company adds to it: a machine in that of
 * everything else, a measure or a time in that of machines. Belief is split as if all pairs had been looked
 * at, since to have looked does not make likelier.
 */
export function weighPairs(ground: Ground, singles: readonly Weighed[]): Weighed[] {
  const all = ground.factors.map((factor) => sidesOf(ground.bins, factor))
  const prior = priorOfPairs(ground.factors, all)
  const least = byName(singles)[FRONT - 1]?.weight ?? Number.NEGATIVE_INFINITY
  const found = new Map<string, Weighed>()
  for (const gate of gatesOf(singles))
    for (const pair of companyOf(ground, gate, all, { prior, least }))
      found.set(JSON.stringify([pair.candidate.named, pair.candidate.parts.map(cutOf)]), pair)
  return [...found.values()]
}

/** The most promising, of variants the best; a time only where it is early or late. */
function gatesOf(singles: readonly Weighed[]): Weighed[] {
  const showing = singles
    .filter(({ score }) => score > CLOSER_FROM)
    .sort((a, b) => b.score - a.score)
  const machines = showing.filter(({ candidate }) => candidate.kind === 'machine')
  const others = new Map<string, Weighed>()
  for (const one of showing) {
    const { kind, named, parts } = one.candidate
    if (kind !== 'measure' && !(kind === 'time' && isTail(parts[0]!))) continue
    if (!others.has(named)) others.set(named, one)
  }
  return [...machines.slice(0, GATES.machine), ...[...others.values()].slice(0, GATES.other)]
}

function cutOf(part: Part): string {
  return part.is === 'between' ? `${part.from} ${part.until}` : ''
}

function companyOf(
  ground: Ground,
  { candidate, evidence }: Weighed,
  all: readonly (Sides | undefined)[],
  { prior, least }: { prior: number; least: number },
): Weighed[] {
  const { looked, base, atoms, factors, exposures } = ground
  const part = candidate.parts[0]!
  const { of } = factors[part.factor]!
  const alone = exposures.of([part], new Float64Array(base.length))
  const held = exposures.held([part])
  const fitted = withEffect(looked, base, alone, evidence.b)
  const gates = new Map<Atoms, Gate>()
  const found: Weighed[] = []
  for (const [f, sides] of all.entries()) {
    if (!sides || f === part.factor) continue
    if (candidate.kind !== 'machine' && factors[f]!.kind !== 'machine') continue
    // Where castings have the one by one makeup and the other by another, nobody can say which have both.
    if (sides.of !== of && sides.of !== 'row' && of !== 'row') continue
    const own = atomsBy(atoms, sides.of === 'row' ? of : sides.of)
    const gate = gates.get(own) ?? new Gate(looked, fitted, own, { of, held, alone })
    gates.set(own, gate)
    for (const [i, z] of sides.surprise(gate).entries()) {
      // What adds a surprise adds about half of its square: with twice that it would still not be among the first.
      if (z < ADDS_FROM || Math.log(prior) + evidence.log + z * z < least) continue
      const { part: other, named } = sides.at(i, f)
      found.push({
        candidate: {
          kind: 'pair',
          parts: candidate.kind === 'machine' ? [part, other] : [other, part],
          named: [candidate.named, named].sort().join(' & '),
          prior,
        },
        evidence: NONE,
        score: z,
      })
    }
  }
  return closer(ground, found)
}

/** The most promising company, weighed. */
function closer({ looked, base, exposures }: Ground, found: readonly Weighed[]): Weighed[] {
  const exposure = new Float64Array(looked.castings.length)
  const byName = Map.groupBy(
    [...found].sort((a, b) => b.score - a.score),
    ({ candidate }) => candidate.named,
  )
  return [...byName.values()]
    .slice(0, COMPANY)
    .flatMap((variants) => variants.slice(0, VARIANTS))
    .map((pair) => {
      const tally = tallyOf(looked, base, exposures.of(pair.candidate.parts, exposure))
      return { ...pair, evidence: evidenceOf(logLikelihood(tally)) }
    })
}

const NONE: Evidence = { log: 0, b: 0 }

/** One factor as the other half of a pair. */
interface Sides {
  of: Of
  /** Conditions it has. */
  count: number
  /** How surprising each of them is behind a gate, in standard deviations. */
  surprise(gate: Gate): Float64Array
  at(range: number, factor: number): { part: Part; named: string }
}

function sidesOf(bins: Bins, factor: Factor): Sides | undefined {
  if (factor.kind === 'batch' || factor.kind === 'lot') return undefined
  if (factor.form === 'levels') {
    const { of, codes, levels } = factor
    const own = { of, codes, count: levels.length }
    return {
      of,
      count: levels.length,
      surprise: (gate) => gate.surpriseOfLevels(own),
      at: (level, f) => ({ part: { factor: f, is: 'level', level }, named: `${f}=${level}` }),
    }
  }
  const { cuts, codes } = bins.of(factor)
  // From any time on or until it, early or late.
  const ranges = factor.kind === 'time' ? tailsOf(cuts.length + 1, true) : tailsOf(cuts.length + 1)
  const own = { of: factor.of, codes, count: cuts.length + 1 }
  return {
    of: factor.of,
    count: ranges.length,
    surprise: (gate) => gate.surpriseOfTails(own, ranges),
    at: (range, f) => between(factor, f, cuts, ranges[range]!),
  }
}

function priorOfPairs(factors: readonly Factor[], all: readonly (Sides | undefined)[]): number {
  const machines = factors.filter(({ kind }) => kind === 'machine').length
  const others = all.filter((sides) => sides !== undefined).length - machines
  const perFactor =
    all.reduce((sum, sides) => sum + (sides?.count ?? 0), 0) / (machines + others || 1)
  const levels = factors.reduce(
    (sum, one) => sum + (one.kind === 'machine' ? one.levels.length : 0),
    0,
  )
  const pairs = machines * others + (machines * (machines - 1)) / 2
  return ((1 - NOTHING) * BELIEF.pair) / (pairs * perFactor * (levels / (machines || 1)) || 1)
}
