// What nobody reported is taken as like what is known on either side of it.
import type { CastingsNode } from './castings/places.ts'

/** Castings at one place, with the chance that one of them is affected and the most it can be. */
export interface Pile {
  node: CastingsNode
  chance: number
  high: number
  /** Whether some of it is of unknown origin and may be affected. */
  open: boolean
}

/**
 * Piles of wholly unknown origin are like those of their product that came to a like place before and after; of no
 * product anybody told, like those of any.
 */
export function likeThoseBeside(judged: readonly Pile[], isKnown: (slot: number) => boolean): void {
  const known = ({ node, open }: Pile) => isKnown(node.slot) || !open
  const places = Map.groupBy(judged, ({ node }) => `${node.place} ${node.step ?? ''}`)
  for (const there of places.values()) {
    if (there.every(known)) continue
    for (const [product, alike] of Map.groupBy(there, ({ node }) => node.product))
      likeBeside(product === '' ? there : alike, known, product)
  }
}

function likeBeside(alike: readonly Pile[], known: (one: Pile) => boolean, product: string): void {
  const isOpen = (one: Pile) => one.node.product === product && !known(one)
  if (!alike.some(isOpen)) return
  const inTime = alike.toSorted((a, b) => a.node.at - b.node.at)
  const sides = sidesOf(inTime, known)
  for (const [i, one] of inTime.entries()) {
    const chances = sides[i]!.map(({ chance }) => chance)
    if (!isOpen(one) || chances.length === 0) continue
    const mean = chances.reduce((sum, chance) => sum + chance, 0) / chances.length
    one.chance = Math.min(mean, one.high)
  }
}

/** Of each in a list, the nearest before it and the nearest after it that are known; none where there is none. */
export function sidesOf<T>(inOrder: readonly T[], isKnown: (one: T) => boolean): T[][] {
  const sides = inOrder.map((): T[] => [])
  const walk = (places: Iterable<number>) => {
    let last: T | undefined
    for (const i of places) {
      if (last !== undefined) sides[i]!.push(last)
      if (isKnown(inOrder[i]!)) last = inOrder[i]!
    }
  }
  walk(inOrder.keys())
  walk([...inOrder.keys()].reverse())
  return sides
}
