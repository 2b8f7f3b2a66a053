// What is likely of every slot: first what gauges tell of charges, then the shares that follow from it.
import type { Cells } from './cells.ts'
import { FIRST, LAST, LEFT, type LikelySweep, likelyPage, MIXED, WAYS } from './likely.ts'
import { LANES, type SpanSweep } from './span.ts'
import { Yields, yieldPage } from './yields.ts'

/** A share as gauges tell what came of charges; of what came out of layers, in each order it may have been taken. */
export interface Likely {
  mixed: number
  /** Part of the doubt that gauges leave. */
  left: number
  /** Absent where orders make no difference. */
  orders?: { first: number; last: number }
}

/** From the pinned shares that a span left; from the first page on, since gauges of all times tell. */
export function likelyShares(
  cells: Cells,
  asOf: number | undefined,
  { pinned, share, flood }: Pick<SpanSweep, 'pinned' | 'share' | 'flood'>,
): (slot: number) => Likely {
  const { writers, chains, clock } = cells
  const view = cells.view(asOf)
  const { at } = clock
  const yields = new Yields()
  const read = { yields, mass: new Float64Array(chains.count), since: new Map(), at }
  cells.each(view, (ops, end) => yieldPage(read, ops, end))
  const likely = new Float64Array(WAYS * writers.count)
  for (let slot = 0; slot < writers.count; slot++) {
    if (pinned[slot] === 1) likely.fill(share[LANES * slot]!, WAYS * slot, WAYS * (slot + 1))
    likely[WAYS * slot + LEFT] = 1
  }
  const sweep: LikelySweep = {
    share: likely,
    held: new Float64Array(WAYS * chains.count),
    mass: new Float64Array(chains.count),
    pinned,
    flood,
    piles: new Map(),
    yields,
    at,
  }
  cells.each(view, (ops, end) => likelyPage(sweep, ops, end))
  return (slot) => likelyOf(likely, slot)
}

/** Sums in another order are the same to so much. */
const ROUNDING = 1e-9

function likelyOf(share: Float64Array, slot: number): Likely {
  const at = WAYS * slot
  const [mixed, first, last] = [share[at + MIXED]!, share[at + FIRST]!, share[at + LAST]!]
  const left = share[at + LEFT]!
  const isOne = Math.abs(first - mixed) <= ROUNDING && Math.abs(last - mixed) <= ROUNDING
  return isOne ? { mixed, left } : { mixed, left, orders: { first, last } }
}
