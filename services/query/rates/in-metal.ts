// How much of a recipe, of some lots, of a supplier or of a material is in the metal of each pour.
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'

/** Something by its name, and its share by pour; pours without any are not there. */
export interface InMetal {
  name: string
  byPour: ReadonlyMap<number, number>
}

/** A revision of a recipe, with the charges that were weighed by it. */
export interface Charged {
  name: string
  recipe: string
  revision: string
  charges: number[]
}

/** Every revision that a charge was weighed by, in order of first use. */
export function chargedBy(view: View, plant: string): Charged[] {
  const found = new Map<string, Charged & { from: number }>()
  for (const { fact } of view.book.all('recipe-followed', view.asOf)) {
    if (view.things.plant(fact.of) !== plant) continue
    const { recipe, revision, at } = fact
    const name = `${recipe} revision ${revision}`
    const one = kept(found, name, () => ({ name, recipe, revision, charges: [], from: at }))
    one.charges.push(fact.of)
    one.from = Math.min(one.from, at)
  }
  return [...found.values()].sort((a, b) => a.from - b.from)
}

/** Metal is of the recipe by which it was charged last: what came back as returns and was charged again counts anew. */
export function recipesIn(view: View, plant: string): (InMetal & Charged)[] {
  const slotOf = (charge: number) => view.melt.slotOf(charge)
  const charges = new Set(view.book.all('charge-line', view.asOf).map(({ fact }) => fact.of))
  const slots = [...charges].map(slotOf).filter((slot) => slot !== undefined)
  return chargedBy(view, plant).map((one) => {
    const own = new Set(one.charges.map(slotOf))
    const force = slots.map((slot): [number, number] => [slot, own.has(slot) ? 1 : 0])
    return { ...one, byPour: inPours(view, [], force) }
  })
}

/** Lots taken together: their share by pour. */
export function sharesOf(view: View, lots: readonly number[]): Map<number, number> {
  const slots = lots.flatMap((lot) => [view.melt.ownOf(lot), view.melt.slotOf(lot)])
  const seeds = slots.filter((slot) => slot !== undefined)
  return inPours(
    view,
    seeds.map((slot): [number, number] => [slot, 1]),
  )
}

type Shares = readonly [slot: number, share: number][]

function inPours(view: View, seeds: Shares, force?: Shares): Map<number, number> {
  const { melt, castings, asOf } = view
  // First, because a pour of which no metal was ever read gets its slot here, for the sweep to see.
  const pours = [...castings.pours()].map(({ no }) => ({ no, parts: melt.pourParts(no, asOf) }))
  const share = melt.ledger.forward(seeds, { asOf, ...(force && { force }) })
  const found = new Map<number, number>()
  for (const { no, parts } of pours) {
    const molds = parts.reduce((sum, part) => sum + part.molds, 0)
    const mean = parts.reduce(
      (sum, part) => sum + (part.molds / molds) * (share[part.slot] ?? 0),
      0,
    )
    if (mean > 0) found.set(no, mean)
  }
  return found
}

/** Received lots of a plant by something said of them, such as who sent them. */
export function lotsBy(
  view: View,
  plant: string,
  of: 'supplier' | 'material',
): Map<string, number[]> {
  const found = new Map<string, number[]>()
  for (const { fact } of view.book.all('lot-received', view.asOf)) {
    const word = fact[of]
    if (word !== undefined && view.things.plant(fact.of) === plant)
      kept(found, word, () => []).push(fact.of)
  }
  return found
}
