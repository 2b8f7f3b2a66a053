// Groups of castings side by side: what each rate is, what it is with the mix taken out, and which
// differ by more than chance.
import {
  type Cluster,
  clusteredShare,
  designEffect,
  type Ranged,
  sums,
  togetherness,
} from '../interval.ts'
import { corrected, type FourCounts, mantelHaenszel } from '../tables.ts'
import { steadied } from './steady.ts'

/** Castings of one group, stratum and cluster that were looked at. Counts may be broken where loads were mixed. */
export interface Looked {
  group: number
  /** What rates are made fair for, such as the product. */
  stratum: number
  /** What failed together, such as one ladle. */
  cluster: number
  castings: number
  defective: number
}

export interface RateRow {
  group: number
  castings: number
  defective: number
  /** How many castings of it tell as much as one alone. */
  designEffect: number
  rate: Ranged
  /** Rate with the mix of strata taken out: found over expected of such a mix, times the overall rate. */
  adjusted: Ranged
  /** Rate drawn towards the others as far as its count is small. */
  steadied: Ranged
  /** Rate over that of the reference, inside strata. Absent for the reference and where no stratum has both. */
  times?: Ranged
  /** Chance of such a difference if there were none, corrected for the number of rows. */
  chanceAlone?: number
}

export interface Comparison {
  overall: { castings: number; defective: number; rate: Ranged }
  /** Part of the variance that castings of a cluster share. */
  together: number
  rows: RateRow[]
}

/** Differences with a smaller corrected chance are told apart. */
export const TOLD_APART = 0.05

/**
 * Compares groups 0 … groups - 1; `against` is the reference, all others together when left out. `fair` has the same
 * castings inside other strata.
 */
export function compareRates(
  looked: readonly Looked[],
  groups: number,
  against?: number,
  fair = looked,
): Comparison {
  const clusters = clustersOf(looked, groups)
  const together = togetherness(clusters)
  const all = clusters.flat()
  const whole = sums(all)
  const overall = {
    castings: whole.castings,
    defective: whole.defective,
    rate: clusteredShare(all, together),
  }
  const tally = strataOf(fair)
  const rates = clusters.map((of) => clusteredShare(of, together))
  const effects = clusters.map((of) => designEffect(of, together))
  const steady = steadied(
    clusters.map((of, g) => {
      const { castings, defective } = sums(of)
      return { castings: castings / effects[g]!, defective: defective / effects[g]! }
    }),
  )
  const rows = clusters.map((of, group): RateRow => {
    const { castings, defective } = sums(of)
    const rate = rates[group]!
    const expected = expectedOf(tally, group)
    const mix = castings > 0 && expected > 0 ? (overall.rate.value * castings) / expected : 1
    const found =
      group === against ? undefined : comparedWith(tally, group, against, effects[group]!)
    return {
      group,
      castings,
      defective,
      designEffect: effects[group]!,
      rate,
      adjusted: {
        value: rate.value * mix,
        low: Math.min(1, rate.low * mix),
        high: Math.min(1, rate.high * mix),
      },
      steadied: steady[group]!,
      ...(found && { times: found.times, chanceAlone: found.chanceAlone }),
    }
  })
  const told = rows.filter((row) => row.chanceAlone !== undefined)
  const chances = corrected(told.map((row) => row.chanceAlone!))
  for (const [i, row] of told.entries()) row.chanceAlone = chances[i]!
  return { overall, together, rows }
}

/** Counts of every group inside every stratum. */
type Tally = Map<number, Map<number, Cluster>>

function strataOf(looked: readonly Looked[]): Tally {
  const tally: Tally = new Map()
  for (const one of looked) {
    const groups = tally.get(one.stratum) ?? new Map()
    tally.set(one.stratum, groups)
    addTo(groups, one.group, one)
  }
  return tally
}

function clustersOf(looked: readonly Looked[], groups: number): Cluster[][] {
  const found = Array.from({ length: groups }, () => new Map<number, Cluster>())
  for (const one of looked) addTo(found[one.group]!, one.cluster, one)
  return found.map((of) => [...of.values()])
}

function addTo(counts: Map<number, Cluster>, key: number, { castings, defective }: Cluster): void {
  const known = counts.get(key)
  counts.set(key, {
    castings: castings + (known?.castings ?? 0),
    defective: defective + (known?.defective ?? 0),
  })
}

/** Defects expected of a group if each of its strata failed as that stratum does over all groups. */
function expectedOf(tally: Tally, group: number): number {
  let expected = 0
  for (const groups of tally.values()) {
    const own = groups.get(group)
    if (!own) continue
    const { castings, defective } = sums([...groups.values()])
    if (castings > 0) expected += (own.castings * defective) / castings
  }
  return expected
}

function comparedWith(tally: Tally, group: number, against: number | undefined, effect: number) {
  const strata: FourCounts[] = []
  for (const groups of tally.values()) {
    const own = groups.get(group)
    if (!own) continue
    const others = [...groups].filter(([g]) =>
      against === undefined ? g !== group : g === against,
    )
    const { castings, defective } = sums(others.map(([, count]) => count))
    strata.push({
      badA: own.defective,
      goodA: own.castings - own.defective,
      badB: defective,
      goodB: castings - defective,
    })
  }
  // No continuity correction: counts over their design effect are not whole.
  return mantelHaenszel(strata, effect, 0)
}
