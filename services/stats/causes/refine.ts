// Leading candidates with their measures, and times from one on or until one, cut more finely: where a cut
// lies matters more than how many were tried, and only the leading ones are worth the trouble.
import { type Candidate, isTail, type Part } from './candidate.ts'
import { type Ground, LEAST_CASTINGS, type Weighed } from './candidates.ts'
import { evidenceOf } from './evidence.ts'
import { logLikelihood, tallyOf } from './likelihood.ts'
import { seenByExposure, tellsApart } from './screen.ts'

/** Cuts tried between a cut and each of its neighbours. */
const BETWEEN = 3

/**
 * Variants of a candidate with the cut of its measure between those of its neighbours, itself among them.
 * They share its belief beforehand; a candidate without a measure is its only variant.
 */
export function refined(ground: Ground, weighed: Weighed): Weighed[] {
  const { candidate } = weighed
  const cut = candidate.parts.findIndex(isTail)
  const finer = cut < 0 ? [] : finerParts(ground, candidate.parts[cut] as Between)
  const prior = candidate.prior / (finer.length + 1)
  const variants = finer.flatMap((part) => {
    const parts = candidate.parts.map((one, i) => (i === cut ? part : one))
    return looked(ground, { ...candidate, parts, prior })
  })
  return [{ ...weighed, candidate: { ...candidate, prior } }, ...variants]
}

type Between = Extract<Part, { is: 'between' }>

function finerParts({ bins, factors }: Ground, part: Between): Between[] {
  const measure = factors[part.factor]!
  if (measure.form !== 'measure') return []
  const low = part.from === Number.NEGATIVE_INFINITY
  const cut = low ? part.until : part.from
  const { cuts } = bins.of(measure)
  const at = cuts.indexOf(cut)
  const [before, after] = [
    cuts[at - 1] ?? Number.NEGATIVE_INFINITY,
    cuts[at + 1] ?? Number.POSITIVE_INFINITY,
  ]
  const values = measure.values
    .filter((value) => value > before && value < after && value !== cut)
    .sort()
  const finer = new Set<number>()
  for (let i = 1; i <= 2 * BETWEEN; i++) {
    const value = values[Math.floor((i * values.length) / (2 * BETWEEN + 1))]
    if (value !== undefined) finer.add(value)
  }
  return [...finer].map((value) => (low ? { ...part, until: value } : { ...part, from: value }))
}

/** Nothing where all are exposed, or none. */
function looked({ looked, base, exposures }: Ground, candidate: Candidate): Weighed[] {
  const exposure = exposures.of(candidate.parts, new Float64Array(base.length))
  if (!tellsApart(seenByExposure(looked, base, exposure), 0, LEAST_CASTINGS)) return []
  const evidence = evidenceOf(logLikelihood(tallyOf(looked, base, exposure)))
  return [{ candidate, evidence, score: 0 }]
}
