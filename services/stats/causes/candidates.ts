// Everything recorded that could be a cause, each with its belief beforehand and a first look at the
// evidence for it.
import type { Candidate, Part } from './candidate.ts'
import { type Evidence, evidenceOf } from './evidence.ts'
import { BINS, CELLS, GRID, type Looked, logLikelihood, type Tally, tallyOf } from './likelihood.ts'
import { binnedOnce, type Range } from './ranges.ts'
import { coded, surprise, tallyLevels, tallyRanges } from './screen.ts'
import { type Atoms, atomsBy, type Factor, type Kind, type Measure, type Of } from './table.ts'

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
const LEAST_CASTINGS = 8
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
  return withPriors(found)
}

interface Found {
  kind: Kind
  part: Part
  named: string
  tally: Tally
}

function ofFactor(ground: Ground, factor: Factor, f: number): Found[] {
  const { looked, base, atoms } = ground
  switch (factor.form) {
    case 'levels': {
      const own = atomsBy(atoms, factor.of)
      const levels = coded(own, factor.of, factor.codes, factor.levels.length)
      return tallyLevels(looked, base, own, levels).map((tally, level) => ({
        kind: factor.kind,
        part: { factor: f, is: 'level', level },
        named: `${f}=${level}`,
        tally,
      }))
    }
    case 'measure':
      return ofMeasure(ground, factor, f)
    case 'dose': {
      const exposure = doseByRow(atomsBy(atoms, factor.of), factor.of, factor.values)
      const tally = tallyOf(looked, base, exposure)
      return [{ kind: 'lot', part: { factor: f, is: 'dose' }, named: `${f}*`, tally }]
    }
  }
}

function ofMeasure({ looked, base, atoms }: Ground, measure: Measure, f: number): Found[] {
  const { cuts, codes, ranges } = binnedOnce(atoms, measure)
  const own = atomsBy(atoms, measure.of)
  const bins = coded(own, measure.of, codes, cuts.length + 1)
  return tallyRanges(looked, base, own, bins, ranges).map((tally, i) => {
    const { part, named } = between(measure, f, cuts, ranges[i]!)
    return { kind: measure.kind, part, named, tally }
  })
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
function ofMissing({ looked, base, atoms }: Ground, factor: Factor, f: number): Found[] {
  if (factor.form === 'dose') return []
  const recorded = factor.form === 'levels' ? factor.codes : factor.values
  // A level below 0 is none, and so is a number that is not one.
  const least = factor.form === 'levels' ? 0 : Number.NEGATIVE_INFINITY
  if (recorded.every((value) => value >= least)) return []
  const codes = Int32Array.from(recorded, (value) => (value >= least ? 0 : 1))
  const own = atomsBy(atoms, factor.of)
  const tally = tallyLevels(looked, base, own, coded(own, factor.of, codes, 2))[1]!
  return [{ kind: 'missing', part: { factor: f, is: 'missing' }, named: `${f}?`, tally }]
}

function doseByRow(atoms: Atoms, of: Of, values: Float64Array): Float64Array {
  if (of === 'row') return values
  return Float64Array.from({ length: atoms.rows }, (_, r) => {
    let [dose, known] = [0, 0]
    for (let i = atoms.start[r]!; i < atoms.start[r + 1]!; i++) {
      const value = atoms.unit[i]! < 0 ? Number.NaN : values[atoms.unit[i]!]!
      if (Number.isNaN(value)) continue
      dose += atoms.part[i]! * value
      known += atoms.part[i]!
    }
    return known >= 0.5 ? dose / known : Number.NaN
  })
}

/** Belief of a kind goes evenly to its factors, and from them evenly to their candidates. */
function withPriors(found: readonly Found[]): Weighed[] {
  const told = found.filter(({ tally }) => tellsApart(tally))
  const perFactor = new Map<string, number>()
  for (const { kind, part } of told) {
    const key = `${kind} ${part.factor}`
    perFactor.set(key, (perFactor.get(key) ?? 0) + 1)
  }
  const perKind = new Map<string, number>()
  for (const key of perFactor.keys()) {
    const kind = key.slice(0, key.indexOf(' '))
    perKind.set(kind, (perKind.get(kind) ?? 0) + 1)
  }
  const surprises = told.map(({ tally }) => surprise(tally))
  const scores = surprises.map(({ score, information }) =>
    information > 0 ? score / Math.sqrt(information) : 0,
  )
  const closer = Math.max(CLOSER_FROM, [...scores].sort((a, b) => b - a)[CLOSER] ?? 0)
  return told.map(({ kind, part, named, tally }, i) => {
    const siblings = perFactor.get(`${kind} ${part.factor}`)! * perKind.get(kind)!
    const prior = ((1 - NOTHING) * BELIEF[kind]) / siblings
    const { score, information } = surprises[i]!
    const log = scores[i]! > closer ? logLikelihood(tally) : parabola(score, information)
    const evidence = evidenceOf(log)
    return { candidate: { kind, parts: [part], named, prior }, evidence, score: scores[i]! }
  })
}

/** Some castings are exposed and some are not, and defects were found. */
function tellsApart(tally: Tally): boolean {
  let [exposed, rest] = [0, 0]
  for (let i = 0; i < tally.castings.length; i++) {
    const x = (i % CELLS) / BINS
    exposed += x * tally.castings[i]!
    rest += (1 - x) * tally.castings[i]!
  }
  return exposed >= LEAST_CASTINGS && rest >= LEAST_CASTINGS
}

function parabola(score: number, information: number): Float64Array {
  return GRID.map((b) => b * score - 0.5 * b * b * information)
}
