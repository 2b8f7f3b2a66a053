// Chances told apart by how many castings fell to each of a few slots that several ways lead to.

/** By the numbers that fell to the slots, see `Counts`; 0 is for none of them. */
export type Terms = Map<number, number>

/** Counts down: whoever sees it below zero gives up. */
export interface Steps {
  left: number
}

/** Sure, whatever fell to where. */
export const NOTHING: Terms = new Map([[0, 1]])

/** How many castings fell to each of some slots, as the digits of one number: so those of two ways add up. */
export class Counts {
  readonly #base: number
  readonly #place = new Map<number, number>()

  /** No slot gets more castings than `most`. */
  constructor(slots: Iterable<number>, most: number) {
    this.#base = most + 1
    for (const slot of slots) this.#place.set(slot, this.#base ** this.#place.size)
  }

  /** Whether all that could fall to so many slots still is one whole number. */
  static fits(slots: number, most: number): boolean {
    return (most + 1) ** slots <= Number.MAX_SAFE_INTEGER
  }

  of(slot: number, castings: number): number {
    return castings * this.#place.get(slot)!
  }

  in(counts: number, slot: number): number {
    return Math.floor(counts / this.#place.get(slot)!) % this.#base
  }
}

export function addTerm(terms: Terms, counts: number, chance: number): void {
  terms.set(counts, (terms.get(counts) ?? 0) + chance)
}

export function total(terms: Terms): number {
  let sum = 0
  for (const chance of terms.values()) sum += chance
  return sum
}

/** Adds both at once, each with this chance: numbers that fell to the same slot add up. */
export function addProduct(into: Terms, a: Terms, b: Terms, chance: number, steps: Steps): void {
  steps.left -= a.size * b.size
  if (steps.left < 0) return
  for (const [x, p] of a) for (const [y, q] of b) addTerm(into, x + y, chance * p * q)
}

export function product(a: Terms, b: Terms, steps: Steps): Terms {
  const found: Terms = new Map()
  addProduct(found, a, b, 1, steps)
  return found
}

/** Puts in what is known of one slot, by how many fell to it. */
export function resolve(
  terms: Terms,
  { slot, counts }: { slot: number; counts: Counts },
  known: readonly Terms[],
  steps: Steps,
): Terms {
  const resolved: Terms = new Map()
  for (const [key, chance] of terms) {
    const castings = counts.in(key, slot)
    const others = key - counts.of(slot, castings)
    const put = castings === 0 ? NOTHING : known[castings]!
    addProduct(resolved, new Map([[others, chance]]), put, 1, steps)
  }
  return resolved
}
