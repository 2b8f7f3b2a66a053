// How much of a recipe, of some lots, of a supplier or of a material is in the metal of each pour.
import { followThing, nothingFollowed, type View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { Reach } from '../../metal/reach.ts'

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

export function recipesIn(view: View, plant: string): InMetal[] {
  return chargedBy(view, plant).map(({ name, charges }) => ({
    name,
    byPour: sharesOf(view, charges),
  }))
}

/** Lots, or charges, taken together: their share by pour. */
export function sharesOf(view: View, things: readonly number[]): Map<number, number> {
  const followed = nothingFollowed()
  for (const no of things) followThing(view, followed, no)
  return new Map(
    new Reach(view, followed).pours
      .filter(({ best }) => best > 0)
      .map(({ pour, best }) => [pour, best]),
  )
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
