// A filling of a ladle, and the pours from it.
import type { FactOf, Grams, Ms } from '../../events/fact.ts'
import { byMoment, type Noted } from '../fact-book.ts'
import { keep, type Ops, set, unknown } from '../ledger/writing.ts'
import { additionOps } from './charging.ts'
import { type Amount, DISAGREES, spreadOfSum, weighingOf, weighingOps } from './weighing.ts'
import {
  type Drawn,
  gauged,
  inflow,
  LADLE_HEEL,
  movedFrom,
  placed,
  pour,
  sum,
  tidy,
  whole,
  type Yard,
} from './yard.ts'

// Common practice, no source: of a filling, what is poured when no report tells how much, and the least that stays.
const POURED = 0.9
const STAYS = 0.01

/** One filling of a ladle: what the steel kept, the taps, the additions, then the pours. */
export function ladleCell(yard: Yard, ladle: number, asOf: Ms): Drawn | undefined {
  const { book } = yard
  const taps = book.of(ladle, 'ladle-tapped', asOf)
  const moved = book.of(ladle, 'metal-moved', asOf)
  const first = taps[0] ?? moved[0]
  if (!first) return undefined
  const steel = taps.find((t) => t.fact.steel !== undefined)?.fact.steel
  const heel = taps.find((t) => t.fact.heel !== undefined)?.fact
  const filled = sum([...taps, ...moved].map((t) => t.fact.amount))

  const ops: Ops = []
  ops.push(...unknown(whole(LADLE_HEEL * filled)))
  // What the filling before was like nobody has to look up: about like this one, in and out.
  if (heel?.heel !== undefined)
    ops.push(...(heel.heel === 0 ? set(0, 0) : gauged(heel.heel, heel.heelSpread, 2 * filled)))
  else if (steel !== undefined) ops.push(...keep())
  for (const tap of taps) {
    ops.push(...weighingOps(yard, tap))
    pour(ops, yard.taken(tap), tap.fact.amount)
  }
  for (const move of moved) {
    ops.push(...weighingOps(yard, move))
    pour(ops, movedFrom(yard, move), move.fact.amount)
  }
  for (const addition of book.of(ladle, 'ladle-added', asOf)) {
    ops.push(...additionOps(yard, addition, filled, asOf))
  }
  const outs = [
    ...book.other(ladle, 'poured', asOf),
    ...book.other(ladle, 'topped-up', asOf),
    ...book.other(ladle, 'metal-moved', asOf),
    ...book.of(ladle, 'metal-spilled', asOf),
  ].sort(byBeginning)
  const pours = outs.filter(({ fact }) => fact.what === 'poured').length
  const gramsOf = (out: Out): Grams =>
    out.fact.what === 'poured'
      ? (pouredGrams(yard, out as Poured, asOf) ?? (POURED * filled) / pours)
      : (out.fact.amount ?? LADLE_HEEL * filled)
  const parted = (grams: Grams, noted: Noted) => ({ grams, weighing: weighingOf(yard, noted) })
  const times = broughtDown(
    (heel?.heel ?? 0) + filled,
    [...taps, ...moved].map((filling) => parted(filling.fact.amount, filling)),
    outs.map((out) => parted(gramsOf(out), out)),
  )
  if (book.other(ladle, 'returned-from', asOf).length > 0) ops.push(yard.slot(ladle), -1)
  for (const out of outs) {
    const grams = times * gramsOf(out)
    if (out.fact.what === 'poured') ops.push(...pourOps(yard, out as Poured, grams, asOf))
    else ops.push(yard.taken(out), -whole(grams))
  }
  return placed(first, tidy(ops), steel === undefined ? undefined : yard.steel(ladle, steel))
}

type Poured = Noted<FactOf<'poured', number>>
type Out = Noted<FactOf<'poured' | 'topped-up' | 'metal-moved' | 'metal-spilled', number>>

/**
 * How many times what is said to have come out of a ladle did: a little more than was in there is weighing, and the
 * last of it is no less of what was in there for that.
 */
function broughtDown(there: Grams, ins: readonly Amount[], outs: readonly Amount[]): number {
  const out = sum(outs.map(({ grams }) => grams))
  const most = (1 - STAYS) * there
  const off = DISAGREES * Math.hypot(spreadOfSum(ins), spreadOfSum(outs))
  return out > most && out - there <= off ? most / out : 1
}

/** A pour with additions of its own mixes them into what its ladle gave. */
export function pourCell(yard: Yard, no: number, asOf: Ms): Drawn | undefined {
  const added = yard.book.of(no, 'pour-added', asOf)
  const poured = yard.book.of(no, 'poured', asOf)[0]
  if (!poured || added.length === 0) return undefined
  const grams = pouredGrams(yard, poured, asOf) ?? 100 * sum(added.map((a) => a.fact.amount ?? 0))
  const ops: Ops = [yard.taken(poured), whole(grams)]
  for (const addition of added) ops.push(...additionOps(yard, addition, grams, asOf))
  ops.push(yard.slot(no), -inflow(ops))
  return placed(poured, ops)
}

/** Slots a pour's molds were filled from, in order, with how many molds each filled. */
export function pourParts(yard: Yard, no: number, asOf: Ms): { slot: number; molds: number }[] {
  const poured = yard.book.of(no, 'poured', asOf)[0]
  const target = yard.slot(no)
  // Others name it and its own report never came: its metal is what nobody reported.
  if (!poured) return [{ slot: target, molds: 1 }]
  const tops = yard.book.of(no, 'topped-up', asOf).sort((a, b) => a.fact.mold - b.fact.mold)
  const parts = [{ slot: target, molds: 0 }]
  let from = poured.fact.first
  for (const top of tops) {
    const at = Math.min(Math.max(top.fact.mold, from), poured.fact.last + 1)
    parts.at(-1)!.molds += at - from
    parts.push({ slot: yard.part(top), molds: 0 })
    from = at
  }
  parts.at(-1)!.molds += poured.fact.last + 1 - from
  return parts.filter((part) => part.molds > 0)
}

export function pourOps(yard: Yard, poured: Poured, grams: Grams, asOf: Ms): Ops {
  const no = poured.fact.of
  const added = yard.book.of(no, 'pour-added', asOf).length > 0
  const target = added ? yard.taken(poured) : yard.slot(no)
  const tops = yard.book.of(no, 'topped-up', asOf).sort((a, b) => a.fact.mold - b.fact.mold)
  if (tops.length === 0) return [target, -whole(grams)]
  const molds = poured.fact.last - poured.fact.first + 1
  const ops: Ops = []
  for (const [i, part] of pourParts(yard, no, asOf).entries()) {
    if (i > 0) pour(ops, yard.taken(tops[i - 1]!), tops[i - 1]!.fact.amount ?? grams / molds)
    ops.push(i === 0 ? target : part.slot, -whole((grams * part.molds) / molds))
  }
  return ops
}

export function pouredGrams(yard: Yard, poured: Poured, asOf: Ms): Grams | undefined {
  const { fact } = poured
  if (fact.amount !== undefined) return fact.amount
  const mold = fact.moldGrams ?? yard.castings.moldGrams(fact.of, asOf)
  return mold === undefined ? undefined : mold * (fact.last - fact.first + 1)
}

function byBeginning(a: Noted, b: Noted): number {
  const begin = (n: Noted) =>
    'from' in n.fact && n.fact.from !== undefined ? n.fact.from : n.fact.at
  return begin(a) - begin(b) || byMoment(a, b)
}
