// What was really weighed for charges, by material.
import type { Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'

/** Grams by material. */
export type ByMaterial = Map<string, number>

/** What charges were weighed of, up to a moment; of a bay, what it was last filled with. */
export function weighedFor(view: View, charges: readonly number[], until: Ms): ByMaterial {
  const weighed: ByMaterial = new Map()
  for (const charge of charges)
    for (const { fact } of view.book.of(charge, 'charge-line', view.asOf)) {
      if (fact.at >= until) continue
      for (const [material, part] of materialsIn(view, fact.other, fact.at))
        weighed.set(material, (weighed.get(material) ?? 0) + fact.amount * part)
    }
  return weighed
}

/** What nobody recorded. */
export const NOT_RECORDED = 'not recorded'

/** Parts of a lot or bin by material at a moment; they sum to 1. */
export function materialsIn(
  view: View,
  no: number,
  at: Ms,
  through: readonly number[] = [],
): ByMaterial {
  const { book, things, asOf } = view
  if (things.kind(no) !== 'bin') return new Map([[materialOf(view, no), 1]])
  if (through.includes(no)) return new Map([[NOT_RECORDED, 1]])
  const emptied = book
    .of(no, 'vessel-set', asOf)
    .findLast(({ fact }) => fact.amount === 0 && fact.at <= at)
  const since = emptied?.fact.at ?? Number.NEGATIVE_INFINITY
  const within = ({ fact }: { fact: { at: Ms } }) => fact.at >= since && fact.at <= at
  const fills = [
    ...book
      .of(no, 'bin-filled', asOf)
      .filter(within)
      .map(({ fact }) => ({ of: fact.other, grams: fact.amount })),
    ...book
      .via(no, 'lot-received', asOf)
      .filter(within)
      .map(({ fact }) => ({ of: fact.of, grams: fact.amount })),
  ]
  const all = fills.reduce((sum, { grams }) => sum + grams, 0)
  if (all <= 0) return new Map([[NOT_RECORDED, 1]])
  const parts: ByMaterial = new Map()
  for (const { of, grams } of fills)
    for (const [material, part] of materialsIn(view, of, at, [...through, no]))
      parts.set(material, (parts.get(material) ?? 0) + (part * grams) / all)
  return parts
}

/** As receipts name it; lots made of gates, castings, pigs or spills are returns, as recipes call them. */
export function materialOf(view: View, lot: number): string {
  const { book, asOf } = view
  const received = book.of(lot, 'lot-received', asOf)[0]
  if (received) return received.fact.material
  const returned =
    book.of(lot, 'returns-collected', asOf).length > 0 ||
    book.of(lot, 'metal-moved', asOf).length > 0
  return returned ? 'returns' : NOT_RECORDED
}
