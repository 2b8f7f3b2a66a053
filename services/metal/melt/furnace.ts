// A heat on what its furnace kept, in the furnace's own order.
import type { FactOf, Ms } from '../../events/fact.ts'
import { byMoment, type Noted } from '../fact-book.ts'
import { type Ops, set, UNRECORDED, unknown, weighed } from '../ledger/writing.ts'
import { additionOps, chargedMetal, chargeWeighing } from './charging.ts'
import { meltLossOps, weighingOps } from './weighing.ts'
import {
  byTap,
  type Drawn,
  gauged,
  movedFrom,
  placed,
  sum,
  tidy,
  whole,
  type Yard,
} from './yard.ts'

// From memory: mains-frequency furnaces keep 50–70 % of the bath, so at most 7/3 of what is charged.
const HEEL_PER_CHARGE = 7 / 3

/**
 * One heat on what its furnace kept: charges and additions in, ladles out, in the furnace's own order. What was
 * moved in after a tap begins a cell of its own: it may be metal of that tap, and no cell comes after itself.
 */
export function heatCells(yard: Yard, heat: number, asOf: Ms): Drawn[] {
  const { book } = yard
  const begun = book.of(heat, 'heat-begun', asOf)[0]
  const charged = book.of(heat, 'heat-charged', asOf)
  const added = book.of(heat, 'heat-added', asOf)
  const moved = book.via(heat, 'metal-moved', asOf)
  const taps = book.other(heat, 'ladle-tapped', asOf).sort(byTap)
  const first = begun ?? [...charged, ...added, ...taps].sort(byMoment)[0]
  if (!first) return []
  const furnace = (first.fact as { via?: number }).via
  if (furnace === undefined) return []

  const tapped = sum(taps.map((t) => t.fact.amount))
  const inflows: Inflow[] = []
  let chargedGrams = 0
  for (const charge of charged) {
    const grams = chargedMetal(yard, charge, asOf) ?? tapped
    chargedGrams += grams
    const place = charge.fact.afterTap === undefined ? 0 : before(taps, charge.fact.afterTap)
    inflows.push({
      place,
      noted: charge,
      ops: [
        ...weighed(chargeWeighing(yard, charge, asOf)),
        ...meltLossOps(yard, heat),
        yard.slot(charge.fact.other),
        whole(grams),
      ],
    })
  }
  if (charged.length === 0) {
    // Additions make no heat: what was tapped beyond them and what was moved in nobody reported.
    const known = sum([...added, ...moved].map((n) => n.fact.amount ?? 0))
    const grams = whole(Math.max(0, tapped - known))
    inflows.push({ place: 0, noted: first, ops: [UNRECORDED, grams] })
  }
  for (const addition of added) {
    inflows.push({
      place: when(taps, addition),
      noted: addition,
      ops: additionOps(yard, addition, tapped, asOf),
    })
  }
  for (const move of moved) {
    const ops: Ops = [...weighingOps(yard, move), movedFrom(yard, move), whole(move.fact.amount)]
    inflows.push({ place: when(taps, move), noted: move, ops })
  }
  inflows.sort((a, b) => a.place - b.place || byMoment(a.noted, b.noted))

  const ops: Ops = [...unknown(whole(HEEL_PER_CHARGE * (chargedGrams || tapped)))]
  if (begun?.fact.heel !== undefined)
    ops.push(...gauged(begun.fact.heel, begun.fact.heelSpread, chargedGrams + tapped))
  else if (begun?.fact.fromEmpty) ops.push(...set(0, 0))
  const vessel = yard.vessel(furnace)
  const cells = [placed(first, ops, vessel)]
  let next = 0
  for (let tap = 0; tap <= taps.length; tap++) {
    for (let inflow = inflows[next]; inflow?.place === tap; inflow = inflows[++next]) {
      if (tap > 0 && inflow.noted.fact.what === 'metal-moved')
        cells.push(afterTap(taps[tap - 1]!, inflow.noted, vessel, cells.at(-1)!))
      cells.at(-1)!.ops.push(...inflow.ops)
    }
    const out = taps[tap]
    if (!out) continue
    const { ops } = cells.at(-1)!
    // Numbers left out are taps of which no report came: about as much as the others took.
    for (let unsaid = skipped(taps, tap); unsaid > 0; unsaid--)
      ops.push(...weighed(UNSAID_TAP), yard.lost(heat), -whole(tapped / taps.length))
    ops.push(...weighingOps(yard, out), yard.taken(out), -whole(out.fact.amount))
  }
  return cells.map((cell) => ({ ...cell, ops: tidy(cell.ops) }))
}

/** The ledger tells moments apart by the second. */
const SECOND: Ms = 1000

/** A cell right after a tap, by the clock of the furnace, and before whatever begins at that moment. */
function afterTap(tap: Noted, moved: Noted, vessel: number, before: Drawn): Drawn {
  const at = Math.max(before.at + SECOND, tap.fact.at - SECOND)
  return { ...placed(moved, [], vessel), at }
}

// Common practice, no source: ladles of one heat are filled about alike. More taps than this are a slip of the pen.
const UNSAID_TAP = { single: 0.1, scale: 0, shared: 0 }
const MOST_SKIPPED = 3

interface Inflow {
  /** Taps that come before it. */
  place: number
  noted: Noted
  ops: Ops
}

/** Numbers left out right before a tap, where taps have numbers. */
function skipped(taps: Noted<FactOf<'ladle-tapped', number>>[], at: number): number {
  const [before, own] = [at === 0 ? 0 : taps[at - 1]!.fact.tap, taps[at]!.fact.tap]
  if (before === undefined || own === undefined) return 0
  return Math.min(MOST_SKIPPED, Math.max(0, own - before - 1))
}

/** Taps that come before something said to be after the k-th. */
function before(taps: Noted<FactOf<'ladle-tapped', number>>[], k: number): number {
  return taps.filter((tap, i) => (tap.fact.tap ?? i + 1) <= k).length
}

/** Where only clocks tell: an addition comes before a tap of the same moment. */
function when(
  taps: Noted<FactOf<'ladle-tapped', number>>[],
  noted: Noted & { fact: { afterTap?: number } },
): number {
  if (noted.fact.afterTap !== undefined) return before(taps, noted.fact.afterTap)
  return taps.filter((tap) => tap.fact.at < noted.fact.at).length
}
