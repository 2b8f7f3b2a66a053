// What is likely of every slot: first what gauges tell of charges, then the shares that follow from it.
import type { Cells } from './cells.ts'
import { FIRST, LAST, type LikelySweep, likelyPage, MIXED, restPage, WAYS } from './likely.ts'
import { holdsAny, LANES, type SpanSweep } from './span.ts'
import { yieldPage, yieldSweep } from './yields.ts'

/** A share as gauges tell what came of charges; of what came out of layers, in each order it may have been taken. */
export interface Likely {
  mixed: number
  /** Part of the doubt that gauges leave. */
  left: number
  /** Absent where orders make no difference. */
  orders?: { first: number; last: number }
}

/**
 * From the shares that a span left, which begins at a page; nothing before it is followed, and nothing behind the last
 * page that holds any. Masses run from the first page on, since gauges of all times tell.
 */
export function likelyShares(
  cells: Cells,
  { asOf, rank }: { asOf: number | undefined; rank: number },
  { pinned, share, flood }: Pick<SpanSweep, 'pinned' | 'share' | 'flood'>,
): (slot: number) => Likely {
  const { writers, chains, clock } = cells
  const view = cells.view(asOf)
  const { at } = clock
  const read = yieldSweep(chains.count, at)
  cells.each(view, (ops, end) => yieldPage(read, ops, end))
  const likely = new Float64Array(WAYS * writers.count)
  for (let slot = 0; slot < writers.count; slot++) {
    if (pinned[slot] === 1) likely.fill(share[LANES * slot]!, WAYS * slot, WAYS * (slot + 1))
  }
  const sweep: LikelySweep = {
    share: likely,
    held: new Float64Array(WAYS * chains.count),
    mass: new Float64Array(chains.count),
    left: new Float64Array(writers.count).fill(1),
    heldLeft: new Float64Array(chains.count),
    pinned,
    flood,
    piles: new Map(),
    yields: read.yields,
    at,
  }
  const last =
    view.patch === undefined
      ? view.pages.findLastIndex((page) => holdsAny(share, page))
      : view.pages.length - 1
  const upTo = { ...view, pages: view.pages.slice(0, last + 1) }
  cells.each(upTo, (ops, end, page) => {
    if (page.rank < rank) restPage(sweep, ops, end)
    else likelyPage(sweep, ops, end)
  })
  return (slot) => likelyOf(sweep, slot)
}

/** Sums in another order are the same to so much. */
const ROUNDING = 1e-9

function likelyOf({ share, left: lefts }: LikelySweep, slot: number): Likely {
  const at = WAYS * slot
  const [mixed, first, last] = [share[at + MIXED]!, share[at + FIRST]!, share[at + LAST]!]
  const left = lefts[slot]!
  const isOne = Math.abs(first - mixed) <= ROUNDING && Math.abs(last - mixed) <= ROUNDING
  return isOne ? { mixed, left } : { mixed, left, orders: { first, last } }
}
