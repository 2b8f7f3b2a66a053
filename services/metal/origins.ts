// Where something came from: chances over pours right of the mold, shares of lots left of it. One
// backward sweep of each ledger answers for every pour and every lot at once.
import type { View } from './followed.ts'
import { kept } from './kept.ts'

export interface Origins {
  /** Castings asked about; 0 when none is known. */
  castings: number
  pours: { pour: number; chance: number }[]
  /** That a casting comes from where no report says. */
  unknownSource: number
  /** That its sources were filled in on the way, since nobody named them; at most 1. */
  filledIn: number
  /** Leaves of the metal, received or only named; with `unrecorded` they add up to 1. */
  lots: { lot: number; share: number; byHeel: number; byReturns: number }[]
  unrecorded: number
  /** Slots that together are its metal, by weight. */
  metal: [slot: number, weight: number][]
  /** Weight that passed each slot: of the castings ledger by chance, of the metal ledger by mass. */
  throughCastings: Float64Array
  throughMetal: Float64Array
  /** The same up to what was collected as returns: where it was melted before that does not count again. */
  throughLast: Float64Array
}

/** Of a thing on either side of the mold; undefined when the record holds nothing it is made of. */
export function originsOf(view: View, no: number): Origins | undefined {
  const kind = view.things.kind(no)
  if (kind === 'lot' || kind === 'charge' || kind === 'heat' || kind === 'ladle')
    return ofMetal(view, no)
  if (kind === 'pour')
    return ofPours(view, new Map([[no, 1]]), { castings: castingsOfPour(view, no) })
  const held = view.castings.slotsOf(no)
  const castings = held.reduce((sum, { castings }) => sum + castings, 0)
  if (castings === 0) return undefined
  const back = view.castings.ledger.backward(
    held.map(({ slot, castings: n }): [number, number] => [slot, n / castings]),
  )
  const chances = new Map<number, number>()
  let found = 0
  for (const [slot, pour] of indexOf(view).units) {
    const chance = back.rest[slot]!
    if (chance <= 0) continue
    found += chance
    chances.set(pour, (chances.get(pour) ?? 0) + chance)
  }
  let filledIn = 0
  for (const slot of view.castings.filledSlots()) filledIn += back.through[slot]!
  return ofPours(view, chances, {
    castings,
    unknownSource: Math.max(0, 1 - found),
    filledIn: Math.min(1, filledIn),
    throughCastings: back.through,
  })
}

function castingsOfPour(view: View, no: number): number {
  let castings = 0
  for (const unit of view.castings.unitsOf(no)) castings += unit.castings
  return castings
}

function ofPours(
  view: View,
  chances: Map<number, number>,
  of: Pick<Origins, 'castings'> & Partial<Origins>,
): Origins {
  const weights: [number, number][] = []
  for (const [pour, chance] of chances) {
    const parts = view.melt.pourParts(pour, view.asOf)
    const molds = parts.reduce((sum, part) => sum + part.molds, 0)
    for (const part of parts) weights.push([part.slot, (chance * part.molds) / molds])
  }
  return Object.assign(metal(view, weights), {
    unknownSource: 0,
    filledIn: 0,
    throughCastings: new Float64Array(0),
    ...of,
    pours: [...chances]
      .map(([pour, chance]) => ({ pour, chance }))
      .sort((a, b) => b.chance - a.chance),
  })
}

/** Of metal itself: what went into a charge or heat, or what a collected lot is made of. */
function ofMetal(view: View, no: number): Origins | undefined {
  const weights = metalSlots(view, no)
  if (weights.length === 0) return undefined
  return Object.assign(metal(view, weights), {
    castings: 0,
    unknownSource: 0,
    filledIn: 0,
    throughCastings: new Float64Array(0),
    pours: [],
  })
}

/** Slots that together are a thing's metal, by mass. */
function metalSlots(view: View, no: number): [number, number][] {
  const { book, melt, asOf } = view
  if (view.things.kind(no) === 'heat' || view.things.kind(no) === 'ladle') {
    const taps =
      view.things.kind(no) === 'heat'
        ? book.other(no, 'ladle-tapped', asOf)
        : book.of(no, 'ladle-tapped', asOf)
    const grams = taps.reduce((sum, tap) => sum + tap.fact.amount, 0)
    return taps.map((tap): [number, number] => [melt.takenOf(tap)!, tap.fact.amount / grams])
  }
  const slot = melt.slotOf(no)
  return slot === undefined ? [] : [[slot, 1]]
}

function metal(
  view: View,
  weights: [number, number][],
): Pick<Origins, 'lots' | 'unrecorded' | 'throughMetal' | 'throughLast' | 'metal'> {
  const { ledger } = view.melt
  const { asOf } = view
  const total = weights.reduce((sum, [, weight]) => sum + weight, 0)
  const all = ledger.backward(weights, { asOf })
  const held = indexOf(view).leaves.filter(([, slot]) => all.rest[slot]! > 0)
  const known = held.reduce((sum, [, slot]) => sum + all.rest[slot]!, 0)
  // By which way each came takes two more sweeps: for those who ask.
  let lots: Origins['lots'] | undefined
  let melted: Swept | undefined
  const withoutReturns = () => {
    melted ??= ledger.backward(weights, { asOf, without: indexOf(view).returns })
    return melted
  }
  return {
    get lots() {
      lots ??= lotsOf(view, weights, { all: all.rest, held, total, withoutReturns })
      return lots
    },
    get throughLast() {
      return withoutReturns().through
    },
    unrecorded: total > 0 ? partLeft(total, known, total) : 0,
    throughMetal: all.through,
    metal: weights,
  }
}

function lotsOf(
  view: View,
  weights: [number, number][],
  parts: { all: Float64Array; held: readonly Leaf[]; total: number; withoutReturns(): Swept },
): Origins['lots'] {
  const { ledger } = view.melt
  const { asOf } = view
  const { all, held, total } = parts
  const withoutHeel = ledger.backward(weights, { asOf, without: 'carry' })
  const withoutReturns = parts.withoutReturns()
  const lots = held.map(([lot, slot]) => {
    const share = all[slot]!
    return {
      lot,
      share: share / total,
      byHeel: partLeft(share, withoutHeel.rest[slot]!, total),
      byReturns: partLeft(share, withoutReturns.rest[slot]!, total),
    }
  })
  return lots.sort((a, b) => b.share - a.share || a.lot - b.lot)
}

/** What is left of a weight, as a part of all; a trillionth is the noise of sums made in another order. */
function partLeft(weight: number, taken: number, all: number): number {
  return Math.round((1e12 * Math.max(0, weight - taken)) / all) / 1e12
}

type Swept = ReturnType<View['melt']['ledger']['backward']>

type Leaf = readonly [lot: number, slot: number]

/** What every question about origins looks through, once for each state of the record. */
interface Index {
  /** Slots of the castings ledger that are castings of a pour. */
  units: (readonly [slot: number, pour: number])[]
  leaves: Leaf[]
  returns: number[]
}

const indexes = new WeakMap<View, Index>()

function indexOf(view: View): Index {
  return kept(indexes, view, () => ({
    units: [...view.castings.units()].map(({ slot, pour }) => [slot, pour] as const),
    leaves: [...leaves(view)],
    returns: [...returnsCells(view)],
  }))
}

/** Received lots by their leaf, and lots that were only named by the slot nobody wrote. */
function* leaves(view: View): Iterable<[lot: number, slot: number]> {
  for (const [slot, lot] of view.melt.lots()) yield [lot, slot]
  for (const [no, slot] of view.melt.slots()) {
    if (view.things.kind(no) === 'lot' && isOnlyNamed(view, no)) yield [no, slot]
  }
}

/** Named by others, and no report of its own is in force. */
export function isOnlyNamed(view: View, lot: number): boolean {
  const { book, asOf } = view
  return (
    book.of(lot, 'lot-received', asOf).length === 0 &&
    book.of(lot, 'returns-collected', asOf).length === 0 &&
    book.of(lot, 'metal-moved', asOf).length === 0
  )
}

function* returnsCells(view: View): Iterable<number> {
  for (const [no] of view.melt.slots()) {
    if (
      view.things.kind(no) === 'lot' &&
      view.book.of(no, 'lot-received', view.asOf).length === 0
    ) {
      yield* view.melt.cellsOf(no)
    }
  }
}
