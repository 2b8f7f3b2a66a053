// Variants of one cause, such as the cuts of one measure: the one that fits best stands for all.
import type { Ground, Weighed } from './candidates.ts'
import { refined } from './refine.ts'

/** Of so many the measures are cut more finely. */
const REFINED = 24

/** One cause: its best variant, and what the others add to its weight. */
export interface Named {
  best: Weighed
  weight: number
  /** Logarithm of the weight of all variants over that of the best. */
  bonus: number
}

/** Most weight first, clustering not yet counted: where a measure is cut does not depend on it. */
export function byName(all: readonly Weighed[]): Named[] {
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
export function refineFirst(ground: Ground, names: readonly Named[]): Named[] {
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

function weight({ candidate, evidence }: Weighed): number {
  return Math.log(candidate.prior) + evidence.log
}
