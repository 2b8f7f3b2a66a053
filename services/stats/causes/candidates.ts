// Everything recorded that could be a cause, each with its belief beforehand and a first look at the
// evidence for it.
import { type Candidate, expose, type Part } from './candidate.ts'
import { type Evidence, evidenceOf, evidenceOfParabola } from './evidence.ts'
import { type Looked, logLikelihood, tallyOf } from './likelihood.ts'
import { binnedOnce, type Range } from './ranges.ts'
import {
  coded,
  type Seen,
  seenByExposure,
  seenByLevel,
  seenByRange,
  seenByTail,
  surprise,
  tellsApart,
} from './screen.ts'
import { type Atoms, atomsBy, type Factor, type Kind, type Measure } from './table.ts'

/** Belief beforehand that the cause is of a kind, if there is one; split evenly over its factors. */
export const BELIEF: Record<Kind, number> = {
  machine: 0.23,
  batch: 0.15,
  lot: 0.2,
  measure: 0.2,
  missing: 0.02,
  time: 0.05,
  pair: 0.15,
}
/** Belief beforehand that nothing recorded is a cause. */
export const NOTHING = 0.5
/** What concerns fewer castings, or all but so few, is not looked at. */
export const LEAST_CASTINGS = 8
/** Below this many standard deviations a parabola is evidence enough. */
export const CLOSER_FROM = 2.5
/** And so for all but so many, however surprising they are. */
const CLOSER = 500

/** What all candidates are looked for in. */
export interface Ground {
  looked: Looked
  /** Chance of a defect by row, with nothing at work. */
  base: Float64Array
  atoms: readonly Atoms[]
  factors: readonly Factor[]
}

/** A candidate with its first evidence, clustering not yet counted. */
export interface Weighed {
  candidate: Candidate
  evidence: Evidence
  score: number
}

export function weighSingles(ground: Ground): Weighed[] {
  const found = ground.factors.flatMap((factor, f) => [
    ...ofFactor(ground, factor, f),
    ...ofMissing(ground, factor, f),
  ])
  return weighed(ground, found)
}

/** A candidate with how many more defects it has than its part, and the variance of that. */
interface Found {
  kind: Kind
  part: Part
  named: string
  score: number
  information: number
}

function ofFactor(ground: Ground, factor: Factor, f: number): Found[] {
  switch (factor.form) {
    case 'levels': {
      const { looked, base, atoms } = ground
      const { kind, of, codes, levels } = factor
      const own = atomsBy(atoms, of)
      const seen = seenByLevel(looked, base, own, coded(own, of, codes, levels.length))
      return told(seen, levels.keys(), (level) => ({
        kind,
        part: { factor: f, is: 'level', level },
        named: `${f}=${level}`,
      }))
    }
    case 'measure':
      return ofMeasure(ground, factor, f)
    case 'dose':
      return ofPart(ground, factor.kind, { factor: f, is: 'dose' }, `${f}*`)
  }
}

function ofMeasure({ looked, base, atoms }: Ground, measure: Measure, f: number): Found[] {
  const { cuts, codes, ranges } = binnedOnce(atoms, measure)
  const own = atomsBy(atoms, measure.of)
  const bins = coded(own, measure.of, codes, cuts.length + 1)
  const seenBy = measure.kind === 'time' ? seenByRange : seenByTail
  return told(seenBy(looked, base, own, bins, ranges), ranges.keys(), (i) => ({
    kind: measure.kind,
    ...between(measure, f, cuts, ranges[i]!),
  }))
}

/** Of some candidates those that tell castings apart. */
function told(
  seen: Seen,
  some: Iterable<number>,
  of: (candidate: number) => Pick<Found, 'kind' | 'part' | 'named'>,
): Found[] {
  const found: Found[] = []
  for (const k of some)
    if (tellsApart(seen, k, LEAST_CASTINGS)) found.push({ ...of(k), ...surprise(seen, k) })
  return found
}

/** A stretch of bins as a condition. */
export function between(
  measure: Measure,
  factor: number,
  cuts: readonly number[],
  { from, until }: Range,
): { part: Part; named: string } {
  const side = measure.kind === 'time' ? '[]' : from === 0 ? '<' : '>'
  return {
    part: {
      factor,
      is: 'between',
      from: from === 0 ? Number.NEGATIVE_INFINITY : cuts[from - 1]!,
      until: until > cuts.length ? Number.POSITIVE_INFINITY : cuts[until - 1]!,
    },
    named: factor + side,
  }
}

/** Castings of which the factor was not recorded: scans go missing when a line is in trouble. */
function ofMissing(ground: Ground, factor: Factor, f: number): Found[] {
  if (factor.form === 'dose') return []
  const missing =
    factor.form === 'levels'
      ? factor.codes.some((code) => code < 0)
      : factor.values.some((value) => Number.isNaN(value))
  return missing ? ofPart(ground, 'missing', { factor: f, is: 'missing' }, `${f}?`) : []
}

/** By how much of each row is exposed. */
function ofPart({ looked, base, atoms, factors }: Ground, kind: Kind, part: Part, named: string) {
  const exposure = expose(atoms, factors, [part], new Float64Array(looked.castings.length))
  return told(seenByExposure(looked, base, exposure), [0], () => ({ kind, part, named }))
}

/** Belief of a kind goes evenly to its factors, and from them evenly to their candidates. */
function weighed({ looked, base, atoms, factors }: Ground, found: readonly Found[]): Weighed[] {
  const perFactor = new Map<string, number>()
  for (const { kind, part } of found) {
    const key = `${kind} ${part.factor}`
    perFactor.set(key, (perFactor.get(key) ?? 0) + 1)
  }
  const perKind = new Map<string, number>()
  for (const key of perFactor.keys()) {
    const kind = key.slice(0, key.indexOf(' '))
    perKind.set(kind, (perKind.get(kind) ?? 0) + 1)
  }
  const scores = found.map(({ score, information }) =>
    information > 0 ? score / Math.sqrt(information) : 0,
  )
  const closer = Math.max(CLOSER_FROM, [...scores].sort((a, b) => b - a)[CLOSER] ?? 0)
  const exposure = new Float64Array(looked.castings.length)
  return found.map(({ kind, part, named, score, information }, i) => {
    const siblings = perFactor.get(`${kind} ${part.factor}`)! * perKind.get(kind)!
    const prior = ((1 - NOTHING) * BELIEF[kind]) / siblings
    const evidence =
      scores[i]! > closer
        ? evidenceOf(logLikelihood(tallyOf(looked, base, expose(atoms, factors, [part], exposure))))
        : evidenceOfParabola(score, information)
    return { candidate: { kind, parts: [part], named, prior }, evidence, score: scores[i]! }
  })
}
