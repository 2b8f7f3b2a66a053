// What a plant answers without the arithmetic: everything a trail leads to, or the heats a lot was
// charged for with one heat before and one after. An answer is worth what it saves beside these.
import type { Castings } from '../../metal/castings.ts'
import type { View } from '../../metal/followed.ts'

/** By the castings ledger: slots that a rule calls affected. */
export type Called = (slot: number) => boolean

/**
 * By slot of the castings ledger, the chance of one who knows what every pour is made of: less than this nobody can
 * tell where castings of several pours lie mixed.
 */
export function knowingMetal(
  view: View,
  plant: string,
  shares: ReadonlyMap<string, number>,
  share: number,
): Float64Array {
  const pours = poursOf(view, plant, shares, (own) => own >= share)
  return view.castings.ledger.forward(wholly(view.castings, pours))
}

/** Whatever a trail leads to from the lot, were every movement of metal on record. */
export function plainReach(view: View, plant: string, shares: ReadonlyMap<string, number>): Called {
  return downFrom(
    view.castings,
    poursOf(view, plant, shares, () => true),
  )
}

function poursOf(
  { things }: View,
  plant: string,
  shares: ReadonlyMap<string, number>,
  counts: (share: number) => boolean,
): number[] {
  return [...shares]
    .filter(([thing, share]) => thing.startsWith('pour:') && counts(share))
    .map(([thing]) => things.numberOf(plant, thing))
    .filter((no) => no !== undefined)
}

/** Castings of the heats it was charged for, of the heat before and of the heat after. */
export function neighbours(view: View, lot: number): Called {
  const { book, asOf } = view
  const pours: number[] = []
  for (const heat of withNeighbours(view, heatsWith(view, lot))) {
    for (const tapped of book.other(heat, 'ladle-tapped', asOf)) {
      for (const poured of book.other(tapped.fact.of, 'poured', asOf)) pours.push(poured.fact.of)
    }
  }
  return downFrom(view.castings, pours)
}

function downFrom(castings: Castings, pours: readonly number[]): Called {
  const reached = castings.ledger.forward(wholly(castings, pours))
  return (slot) => reached[slot]! > 0
}

function wholly(castings: Castings, pours: readonly number[]): [slot: number, value: number][] {
  return pours.flatMap((pour) => castings.unitsOf(pour)).map(({ slot }) => [slot, 1])
}

function heatsWith({ book, asOf }: View, lot: number): Set<number> {
  const heats = new Set<number>()
  const bins = book.other(lot, 'bin-filled', asOf).map(({ fact }) => fact)
  const drawnFrom = [{ of: lot, at: 0 }, ...bins]
  for (const { of, at } of drawnFrom) {
    for (const line of book.other(of, 'charge-line', asOf)) {
      if (line.fact.at < at) continue
      for (const charged of book.other(line.fact.of, 'heat-charged', asOf)) {
        heats.add(charged.fact.of)
      }
    }
  }
  return heats
}

function withNeighbours({ book, asOf }: View, heats: ReadonlySet<number>): Set<number> {
  const all = new Set(heats)
  for (const heat of heats) {
    const begun = book.of(heat, 'heat-begun', asOf)[0]
    if (!begun) continue
    const order = book.via(begun.fact.via, 'heat-begun', asOf).map(({ fact }) => fact.of)
    const at = order.indexOf(heat)
    for (const beside of [order[at - 1], order[at + 1]]) if (beside !== undefined) all.add(beside)
  }
  return all
}
