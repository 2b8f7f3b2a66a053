// A small group's rate says more about chance than about the group: it is drawn towards the others.
import { betaQuantile } from '../distributions.ts'
import { type Cluster, LEVEL, type Ranged, sums } from '../interval.ts'

/**
 * Rates of groups, each drawn towards the mean of all as far as groups differ by no more than chance:
 * the mean of a beta distribution fitted to the groups by moments and met with the group's own counts.
 * Counts are effective ones. Intervals take the fitted distribution as known.
 */
export function steadied(groups: readonly Cluster[]): Ranged[] {
  const { castings, defective } = sums(groups)
  const mean = defective / castings
  const spread = betweenGroups(groups, mean)
  const worth =
    spread > 0 ? Math.max(0, (mean * (1 - mean)) / spread - 1) : Number.POSITIVE_INFINITY
  return groups.map((group) => {
    const all = worth + group.castings
    if (!Number.isFinite(all)) return { value: mean, low: mean, high: mean }
    const bad = worth * mean + group.defective
    const tail = (1 - LEVEL) / 2
    const value = bad / all
    // Of next to no castings the distribution leans so far that its mean lies beyond its quantiles.
    return {
      value,
      low: Math.min(value, betaQuantile(tail, bad, all - bad)),
      high: Math.max(value, betaQuantile(1 - tail, bad, all - bad)),
    }
  })
}

/** Variance of true rates between groups: what is left of the seen one after chance is taken out, 0 at least. */
function betweenGroups(groups: readonly Cluster[], mean: number): number {
  const { castings, squares, count } = sums(groups)
  if (count < 2 || mean <= 0 || mean >= 1) return 0
  let seen = 0
  for (const g of groups)
    if (g.castings > 0) seen += g.castings * (g.defective / g.castings - mean) ** 2
  const chance = (count - 1) * mean * (1 - mean)
  return Math.max(0, (seen - chance) / (castings - squares / castings))
}
