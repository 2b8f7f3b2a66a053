// Intervals for a share of castings, honest about castings that fail together.
import { betaQuantile, normalQuantile, studentQuantile } from './distributions.ts'

/** Ends of an interval; value is the best estimate between them. */
export interface Ranged {
  value: number
  low: number
  high: number
}

/** Castings that share a fate, such as those of one ladle: how many were looked at, how many bad. */
export interface Cluster {
  castings: number
  defective: number
}

export const LEVEL = 0.95

/**
 * Score interval of a share. Counts may be broken: effective counts are.
 * Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; form as in Newcombe, Stat. Med. 17 (1998) 857.
 */
export function wilson(
  defective: number,
  castings: number,
  z = normalQuantile(0.5 + LEVEL / 2),
): Ranged {
  if (castings <= 0) return { value: Number.NaN, low: 0, high: 1 }
  const share = defective / castings
  const middle = defective + (z * z) / 2
  const reach = z * Math.sqrt(defective * (1 - share) + (z * z) / 4)
  const over = castings + z * z
  return {
    value: share,
    low: defective <= 0 ? 0 : Math.max(0, (middle - reach) / over),
    high: defective >= castings ? 1 : Math.min(1, (middle + reach) / over),
  }
}

/** Score interval with continuity correction. Source: Newcombe 1998, method 4. */
export function wilsonCorrected(defective: number, castings: number, level = LEVEL): Ranged {
  const z = normalQuantile(0.5 + level / 2)
  const share = defective / castings
  const over = 2 * (castings + z * z)
  const middle = 2 * defective + z * z
  const reach = (side: number) =>
    z * Math.sqrt(z * z - side * 2 - 1 / castings + 4 * share * (castings * (1 - share) + side))
  return {
    value: share,
    low: defective <= 0 ? 0 : Math.max(0, (middle - 1 - reach(1)) / over),
    high: defective >= castings ? 1 : Math.min(1, (middle + 1 + reach(-1)) / over),
  }
}

/** Interval that never covers less than its level. Source: Clopper and Pearson, Biometrika 26 (1934) 404. */
export function clopperPearson(defective: number, castings: number, level = LEVEL): Ranged {
  const tail = (1 - level) / 2
  return {
    value: defective / castings,
    low: betaQuantile(tail, defective, castings - defective + 1),
    high: betaQuantile(1 - tail, defective + 1, castings - defective),
  }
}

/**
 * Part of the variance that castings of one cluster share: the intra-class correlation by analysis of
 * variance, pooled over groups so that a small group is not judged by its own two ladles. 0 to 1.
 * Source: the estimator named ANOVA in Ridout, Demetrio and Firth, Biometrics 55 (1999) 137 (from memory).
 */
export function togetherness(groups: readonly (readonly Cluster[])[]): number {
  let between = 0
  let within = 0
  let freeBetween = 0
  let freeWithin = 0
  let evenSize = 0
  for (const clusters of groups) {
    const { castings, defective, squares, count } = sums(clusters)
    if (count < 2 || castings <= count) continue
    const share = defective / castings
    for (const c of clusters) {
      if (c.castings <= 0) continue
      const own = c.defective / c.castings
      between += c.castings * (own - share) ** 2
      within += c.castings * own * (1 - own)
    }
    freeBetween += count - 1
    freeWithin += castings - count
    evenSize += castings - squares / castings
  }
  if (freeBetween === 0 || freeWithin <= 0) return 0
  const size = evenSize / freeBetween
  const perBetween = between / freeBetween
  const perWithin = within / freeWithin
  const all = perBetween + (size - 1) * perWithin
  return all <= 0 ? 0 : Math.min(1, Math.max(0, (perBetween - perWithin) / all))
}

/** How many castings of these clusters tell as much as one alone. Source: Kish, Survey Sampling (1965): 1 + (m - 1)ρ. */
export function designEffect(clusters: readonly Cluster[], together: number): number {
  const { castings, squares } = sums(clusters)
  return castings <= 0 ? 1 : Math.max(1, 1 + (squares / castings - 1) * together)
}

/** Share defective of clustered castings: score interval on the counts over their design effect. */
export function clusteredShare(clusters: readonly Cluster[], together: number): Ranged {
  const { castings, defective, count } = sums(clusters)
  const effect = designEffect(clusters, together)
  const free = Math.max(1, count - 1)
  // Where clusters matter and are few, their number is what limits us, not that of castings.
  const z = effect > 1 ? studentQuantile(0.5 + LEVEL / 2, free) : undefined
  const { low, high } = wilson(defective / effect, castings / effect, z)
  // The plain ratio, as anybody works it out who has the counts.
  return { value: castings > 0 ? defective / castings : Number.NaN, low, high }
}

export function sums(clusters: readonly Cluster[]) {
  let castings = 0
  let defective = 0
  let squares = 0
  let count = 0
  for (const c of clusters) {
    if (c.castings <= 0) continue
    castings += c.castings
    defective += c.defective
    squares += c.castings * c.castings
    count++
  }
  return { castings, defective, squares, count }
}
