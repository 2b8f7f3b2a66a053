// Two conditions at once as one candidate.
import { expose, type Part } from './candidate.ts'
import { BELIEF, between, CLOSER_FROM, type Ground, NOTHING, type Weighed } from './candidates.ts'
import { type Evidence, evidenceOf } from './evidence.ts'
import { logLikelihood, tallyOf, withEffect } from './likelihood.ts'
import { binnedOnce, type Range, tailsOf } from './ranges.ts'
import { type Coded, coded, gated, surpriseOfRanges } from './screen.ts'
import { type Atoms, atomsBy, type Factor, type Of } from './table.ts'

/** So many of the most promising machines are looked at in company. */
const GATES = 12
/** Of the company of each so many factors are weighed, those with cuts in so many variants. */
const COMPANY = 10
const VARIANTS = 3
/** What company adds to a machine by itself is worth a look from so many standard deviations on. */
const ADDS_FROM = 2.5

/**
 * Two conditions at once: a machine with another, or with a measure beyond a cut, or from or until a
 * time. A machine that shows by itself is looked at in company of everything else, for what the company
 * adds to it; belief is split as if all pairs had been, since to have looked does not make likelier.
 */
export function weighPairs(ground: Ground, singles: readonly Weighed[]): Weighed[] {
  const gates = singles
    .filter(({ candidate, score }) => candidate.kind === 'machine' && score > CLOSER_FROM)
    .sort((a, b) => b.score - a.score)
    .slice(0, GATES)
  const all = ground.factors.map((factor) => sidesOf(ground.atoms, factor))
  const prior = priorOfPairs(ground.factors, all)
  const found = new Map<string, Weighed>()
  for (const gate of gates)
    for (const pair of companyOf(ground, gate, all, prior))
      found.set(JSON.stringify([pair.candidate.named, pair.candidate.parts.map(cutOf)]), pair)
  return [...found.values()]
}

function cutOf(part: Part): string {
  return part.is === 'between' ? `${part.from} ${part.until}` : ''
}

function companyOf(
  { looked, base, atoms, factors }: Ground,
  gate: Weighed,
  all: readonly (Sides | undefined)[],
  prior: number,
): Weighed[] {
  const part = gate.candidate.parts[0]!
  if (part.is !== 'level') return []
  const machine = all[part.factor]!
  const rows = looked.castings.length
  const alone = expose(atoms, factors, gate.candidate, new Float64Array(rows))
  const fitted = withEffect(looked, base, alone, gate.evidence.b)
  const found: Weighed[] = []
  for (const [f, sides] of all.entries()) {
    if (!sides || f === part.factor) continue
    // Where castings have the one by one makeup and the other by another, nobody can say which have both.
    if (sides.of !== machine.of && sides.of !== 'row' && machine.of !== 'row') continue
    const own = atomsBy(atoms, sides.of === 'row' ? machine.of : sides.of)
    const both = gated(own, sides.coded, machine.coded, part.level)
    for (const [i, z] of surpriseOfRanges(
      looked,
      fitted,
      own,
      both,
      sides.ranges,
      alone,
    ).entries()) {
      if (z < ADDS_FROM) continue
      const { part: other, named } = sides.at(i, f)
      found.push({
        candidate: {
          kind: 'pair',
          parts: [part, other],
          named: [gate.candidate.named, named].sort().join(' & '),
          prior,
        },
        evidence: NONE,
        score: z,
      })
    }
  }
  const exposure = new Float64Array(rows)
  const byName = Map.groupBy(
    found.sort((a, b) => b.score - a.score),
    ({ candidate }) => candidate.named,
  )
  return [...byName.values()]
    .slice(0, COMPANY)
    .flatMap((variants) => variants.slice(0, VARIANTS))
    .map((pair) => {
      const tally = tallyOf(looked, base, expose(atoms, factors, pair.candidate, exposure))
      return { ...pair, evidence: evidenceOf(logLikelihood(tally)) }
    })
}

const NONE: Evidence = { log: 0, b: 0 }

/** One factor as the other half of a pair. */
interface Sides {
  of: Of
  coded: Coded
  ranges: Range[]
  at(range: number, factor: number): { part: Part; named: string }
}

function sidesOf(atoms: readonly Atoms[], factor: Factor): Sides | undefined {
  if (factor.kind === 'batch' || factor.kind === 'lot') return undefined
  if (factor.form === 'levels')
    return {
      of: factor.of,
      coded: coded(atomsBy(atoms, factor.of), factor.of, factor.codes, factor.levels.length),
      ranges: factor.levels.map((_, level) => ({ from: level, until: level + 1 })),
      at: (level, f) => ({ part: { factor: f, is: 'level', level }, named: `${f}=${level}` }),
    }
  const { cuts, codes } = binnedOnce(atoms, factor)
  // From any time on or until it, early or late.
  const ranges = factor.kind === 'time' ? tailsOf(cuts.length + 1, true) : tailsOf(cuts.length + 1)
  return {
    of: factor.of,
    coded: coded(atomsBy(atoms, factor.of), factor.of, codes, cuts.length + 1),
    ranges,
    at: (range, f) => between(factor, f, cuts, ranges[range]!),
  }
}

function priorOfPairs(factors: readonly Factor[], all: readonly (Sides | undefined)[]): number {
  const machines = factors.filter(({ kind }) => kind === 'machine').length
  const others = all.filter((sides) => sides !== undefined).length - machines
  const perFactor =
    all.reduce((sum, sides) => sum + (sides?.ranges.length ?? 0), 0) / (machines + others || 1)
  const levels = factors.reduce(
    (sum, one) => sum + (one.kind === 'machine' ? one.levels.length : 0),
    0,
  )
  const pairs = machines * others + (machines * (machines - 1)) / 2
  return ((1 - NOTHING) * BELIEF.pair) / (pairs * perFactor * (levels / (machines || 1)) || 1)
}
