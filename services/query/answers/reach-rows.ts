// What the castings of a reach come to, thing by thing and in all.
import type { Bounds } from '../../metal/castings/hard-bounds.ts'
import type { Odds } from '../../metal/odds.ts'
import { type Affected, type Reach, type Standing, type Tally, tally } from '../../metal/reach.ts'
import { bounded, type Estimate } from '../estimate.ts'

export type Word = 'CERTAIN' | 'POSSIBLE' | 'UNKNOWN' | 'CLEAR'

/** Castings of one thing, perhaps in several places, as one row. */
export function summed(thing: number, nodes: Affected[]) {
  const total = tally(nodes)
  const castings = nodes.reduce((sum, n) => sum + n.node.castings, 0) || 1
  const most = nodes.reduce((a, b) => (b.node.castings > a.node.castings ? b : a))
  return {
    thing,
    ...total,
    castings,
    standing: worst(total),
    chance: total.expected / castings,
    low: total.least / castings,
    high: total.most / castings,
    basis: nodes.some(({ filledIn }) => filledIn) ? ('INFERRED' as const) : ('COMPUTED' as const),
    place: most.node.place,
    spot: most.node.spot,
    nodes,
  }
}

/** Fewest and most of a row; where clocks or reports leave open what castings are, all those may be. */
export function boundsOf(odds: Odds, { nodes }: ReturnType<typeof summed>): Bounds {
  const { least, most } = odds.bounds(nodes.map(({ node }) => node))
  const open = nodes.filter((n) => n.open).reduce((sum, { node }) => sum + node.castings, 0)
  return { least, most: Math.max(most, open) }
}

/** That at least one casting of a row is affected, with its ends. */
export function atLeastOne(odds: Odds, row: ReturnType<typeof summed>): Estimate {
  const groups = row.nodes.map(({ node }) => node)
  const best = odds.atLeastOne(groups)
  const { least, most } = boundsOf(odds, row)
  const filledIn = row.basis === 'INFERRED'
  const low = least >= 1 ? 1 : filledIn ? 0 : odds.atLeastOne(groups, 'low').chance
  const high = odds.atLeastOne(groups, 'high')
  // What is of unknown origin may be affected, and so may all that was filled in.
  const open = row.nodes.some((n) => n.open) || (filledIn && high.chance > 0)
  const atMost = most === 0 ? 0 : open ? 1 : high.exact ? high.chance : Math.min(1, row.most)
  // As likely at least as for one of them.
  return bounded(Math.max(best.chance, row.chance), low, atMost, row.basis)
}

/** Certain only when all of it is; clear only when all of it is. */
function worst(total: Tally): Standing {
  if (total.possible > 0 || (total.certain > 0 && total.unknown + total.clear > 0))
    return 'possible'
  if (total.certain > 0) return 'certain'
  return total.unknown > 0 ? 'unknown' : 'clear'
}

export function standingCount(total: Tally) {
  return {
    certain: Math.round(total.certain),
    possible: Math.round(total.possible),
    clear: Math.round(total.clear),
    unknown: Math.round(total.unknown),
    expected: bounded(total.expected, total.least, total.most),
    toHold: toHold(total),
  }
}

export function toHold(total: Tally): number {
  return Math.round(total.certain) + Math.round(total.possible) + Math.round(total.unknown)
}

export function words(asked: Word[] | null | undefined): Set<Standing> {
  const list: readonly Word[] = asked ?? ['CERTAIN', 'POSSIBLE', 'UNKNOWN']
  return new Set(list.map((word) => word.toLowerCase() as Standing))
}

/** Shares at which something changes, falling, evenly thinned to the points asked for. */
export function thresholds(found: Reach, points: number): number[] {
  const shares = [
    ...new Set(found.pours.map((pour) => pour.high - pour.gap).filter((share) => share > 0)),
  ].sort((a, b) => b - a)
  if (shares.length <= points) return shares
  return Array.from(
    { length: points },
    (_, i) => shares[Math.round((i * (shares.length - 1)) / (points - 1))]!,
  )
}

export function groupBy<Row, Key>(rows: Iterable<Row>, key: (row: Row) => Key): Map<Key, Row[]> {
  return Map.groupBy(rows, key)
}
