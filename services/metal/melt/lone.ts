// What a vessel did that belongs to no heat and no filling.
import type { FactOf, Grams, Ms } from '../../events/fact.ts'
import type { Noted } from '../fact-book.ts'
import { set, unknown } from '../ledger/writing.ts'
import { pickedCell } from './charging.ts'
import { pouredGrams, pourOps } from './ladle.ts'
import { weighingOps } from './weighing.ts'
import { type Drawn, gauged, lying, movedFrom, placed, source, whole, type Yard } from './yard.ts'

/** What a vessel did that belongs to no heat and no filling, by one fact. */
export function loneCell(
  yard: Yard,
  noted: Noted,
  side: 'in' | 'out',
  asOf: Ms,
): Drawn | undefined {
  const { fact } = noted
  const found = yard.book.of(fact.of, fact.what, asOf).find((n) => n === noted)
  if (!found) return undefined
  switch (fact.what) {
    case 'furnace-emptied':
      return placed(
        noted,
        fact.amount === 0 ? set(0, 0) : gauged(fact.amount, fact.spread),
        yard.vessel(fact.of),
      )
    case 'vessel-set':
      return placed(
        noted,
        fact.amount === 0
          ? set(0, 0)
          : [...lying(yard, fact.of, asOf), ...gauged(fact.amount, fact.spread)],
        yard.vessel(fact.of),
      )
    case 'metal-moved': {
      const grams = whole(fact.amount)
      if (side === 'out')
        return placed(
          noted,
          [...weighingOps(yard, noted), yard.taken(noted), -grams],
          yard.vessel(fact.other),
        )
      return placed(
        noted,
        [
          ...weighingOps(yard, noted),
          movedFrom(yard, noted as Noted<FactOf<'metal-moved', number>>),
          grams,
        ],
        yard.vessel(fact.of),
      )
    }
    case 'metal-spilled':
      return placed(noted, [yard.taken(noted), -whole(fact.amount)], yard.vessel(fact.of))
    case 'poured': {
      const poured = noted as Noted<FactOf<'poured', number>>
      return placed(
        noted,
        pourOps(yard, poured, pouredGrams(yard, poured, asOf) ?? 0, asOf),
        yard.vessel(fact.other!),
      )
    }
    case 'returned-from':
      return pickedCell(yard, noted as Noted<FactOf<'returned-from', number>>, asOf)
    case 'bin-filled':
      if (side === 'out') return drawnFromBin(yard, noted, fact.other, fact.amount, asOf)
      return placed(
        noted,
        [
          ...lying(yard, fact.of, asOf),
          ...weighingOps(yard, noted),
          source(yard, noted as BinLine),
          whole(fact.amount),
        ],
        yard.vessel(fact.of),
      )
    case 'lot-received':
    case 'returns-collected':
      return placed(
        noted,
        [...lying(yard, fact.via!, asOf), yard.slot(fact.of), whole(fact.amount ?? 0)],
        yard.vessel(fact.via!),
      )
    case 'charge-line':
    case 'heat-added':
    case 'ladle-added':
    case 'pour-added':
      return drawnFromBin(yard, noted, fact.other, fact.amount ?? 0, asOf)
    default:
      return undefined
  }
}

type BinLine = Noted<FactOf<'bin-filled', number>>

function drawnFromBin(
  yard: Yard,
  noted: Noted,
  bin: number,
  grams: Grams,
  asOf: Ms,
): Drawn | undefined {
  if (yard.things.kind(bin) !== 'bin') return undefined
  return placed(
    noted,
    [
      ...lying(yard, bin, asOf),
      ...unknown(whole(grams)),
      ...weighingOps(yard, noted),
      yard.taken(noted),
      -(whole(grams) || 1),
    ],
    yard.vessel(bin),
  )
}
