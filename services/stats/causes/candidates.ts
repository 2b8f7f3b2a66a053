// Everything recorded that could be a cause, each with its belief beforehand and a first look at the
// evidence for it.
import type { Candidate, Part } from './candidate.ts'
import { type Evidence, evidenceOf, evidenceOfParabola } from './evidence.ts'
import type { Exposures } from './exposures.ts'
import { Gather, wholly } from './gather.ts'
import { type Looked, logLikelihood, tallyOf } from './likelihood.ts'
import type { Bins, Range } from './ranges.ts'
import {
  type Seen,
  seenByExposure,
  seenByLevel,
  seenByRange,
  seenByTail,
  surprise,
  tellsApart,
} from './screen.ts'
import { type Atoms, type Factor, type Kind, type Measure, ROUNDING } from './table.ts'

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
/** So many names are weighed with a first guess at luck. */
export const FRONT = 150
/** And so for all but so many, however surprising they are. */
const CLOSER = 300

/** What all candidates are looked for in. */
export interface Ground {
  looked: Looked
  /** Chance of a defect by row, with nothing at work. */
  base: Float64Array
  atoms: readonly Atoms[]
  factors: readonly Factor[]
  bins: Bins
  exposures: Exposures
}

/** A candidate with its first evidence, clustering not yet counted. */
export interface Weighed {
  candidate: Candidate
  evidence: Evidence
  score: number
}

export function weighSingles(ground: Ground): Weighed[] {
  const gathers = ground.atoms.map((atoms) => new Gather(wholly(atoms)))
  const found = ground.factors.flatMap((factor, f) => {
    const gather = gathers[factor.of === 'row' ? 0 : factor.of]!
    const recorded = ofFactor(ground, gather, factor, f)
    return [...recorded, ...ofMissing(ground, gather, factor, f)]
  })
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

function ofFactor(ground: Ground, gather: Gather, factor: Factor, f: number): Found[] {
  switch (factor.form) {
    case 'levels': {
      const { looked, base } = ground
      const { kind, of, codes, levels } = factor
      const gathered = gather.by({ of, codes, count: levels.length })
      const seen = seenByLevel(looked, base, gathered, levels.length)
      return told(seen, levels.keys(), (level) => ({
        kind,
        part: { factor: f, is: 'level', level },
        named: `${f}=${level}`,
      }))
    }
    case 'measure':
      return ofMeasure(ground, gather, factor, f)
    case 'dose': {
      const part: Part = { factor: f, is: 'dose' }
      const exposure = ground.exposures.of([part], new Float64Array(ground.base.length))
      return ofExposure(ground, exposure, factor.kind, part, `${f}*`)
    }
  }
}

function ofMeasure(
  { looked, base, bins }: Ground,
  gather: Gather,
  measure: Measure,
  f: number,
): Found[] {
  const { cuts, codes, ranges } = bins.of(measure)
  const count = cuts.length + 1
  const gathered = gather.by({ of: measure.of, codes, count })
  const seenBy = measure.kind === 'time' ? seenByRange : seenByTail
  return told(seenBy(looked, base, gathered, count, ranges), ranges.keys(), (i) => ({
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
function ofMissing(ground: Ground, { known }: Gather, factor: Factor, f: number): Found[] {
  if (factor.form === 'dose') return []
  const missing =
    factor.form === 'levels'
      ? factor.codes.some((code) => code < 0)
      : factor.values.some((value) => Number.isNaN(value))
  if (!missing) return []
  const exposure = known.map((some) => (some < 1 - ROUNDING ? 1 - some : 0))
  return ofExposure(ground, exposure, 'missing', { factor: f, is: 'missing' }, `${f}?`)
}

function ofExposure(
  { looked, base }: Ground,
  exposure: Float64Array,
  kind: Kind,
  part: Part,
  named: string,
): Found[] {
  return told(seenByExposure(looked, base, exposure), [0], () => ({ kind, part, named }))
}

/** Belief of a kind goes evenly to its factors, and from them evenly to their candidates. */
function weighed({ looked, base, exposures }: Ground, found: readonly Found[]): Weighed[] {
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
  const scores = Float64Array.from(found, ({ score, information }) =>
    information > 0 ? score / Math.sqrt(information) : 0,
  )
  const closer = Math.max(
    CLOSER_FROM,
    scores
      .slice()
      .sort()
      .at(-CLOSER - 1) ?? 0,
  )
  const exposure = new Float64Array(looked.castings.length)
  return found.map(({ kind, part, named, score, information }, i) => {
    const siblings = perFactor.get(`${kind} ${part.factor}`)! * perKind.get(kind)!
    const prior = ((1 - NOTHING) * BELIEF[kind]) / siblings
    const evidence =
      scores[i]! > closer
        ? evidenceOf(logLikelihood(tallyOf(looked, base, exposures.of([part], exposure))))
        : evidenceOfParabola(score, information)
    return { candidate: { kind, parts: [part], named, prior }, evidence, score: scores[i]! }
  })
}
