// Totes between drying and oiling: castings of one product are put on what is left of the last.
import { MINUTE } from './clock.ts'
import type { ProductId } from './products.ts'
import { draw, type Random } from './random.ts'
import type { World } from './world.ts'

interface Tote {
  tote: string
  product: ProductId
  castings: number[]
  /** When something was last put in. Unit: ms. */
  filled: number
}

/** Castings out of one tote. */
export interface Taken {
  tote: string
  castings: number[]
  emptied: boolean
}

const FULL = 240
/** Nobody takes from a tote that was put down this moment. */
const SETTLED = 2 * MINUTE

export class Totes {
  readonly #world: World
  readonly #random: Random
  readonly #totes: Tote[] = []
  readonly #free: string[] = Array.from(
    { length: 40 },
    (_, i) => `T${String(i + 1).padStart(2, '0')}`,
  )

  constructor(world: World) {
    this.#world = world
    this.#random = world.random('totes')
  }

  /** Puts castings away; the tote they stand in. */
  stow(product: ProductId, castings: readonly number[]): string {
    let tote = this.#totes.findLast((one) => one.product === product)
    if (!tote || tote.castings.length + castings.length > FULL) {
      tote = { tote: this.#free.shift()!, product, castings: [], filled: 0 }
      this.#totes.push(tote)
    }
    tote.castings.push(...castings)
    tote.filled = this.#world.clock.now
    this.#world.truth.castings.put(castings, 'tote:' + tote.tote)
    return tote.tote
  }

  /** A rack full of one product, from the oldest totes; nothing, where none has enough. */
  rack(size: number): Taken[] {
    const settled = this.#totes.filter(({ filled }) => filled <= this.#world.clock.now - SETTLED)
    const counts = new Map<ProductId, number>()
    for (const { product, castings } of settled) {
      counts.set(product, (counts.get(product) ?? 0) + castings.length)
    }
    const oldest = settled.find(({ product }) => counts.get(product)! >= size)
    if (!oldest) return []
    const taken: Taken[] = []
    let left = size
    for (const tote of settled.filter(({ product }) => product === oldest.product)) {
      if (left <= 0) break
      const castings = draw(this.#random, tote.castings, left)
      left -= castings.length
      const emptied = tote.castings.length === 0
      taken.push({ tote: tote.tote, castings, emptied })
      if (emptied) this.#drop(tote)
    }
    return taken
  }

  /** What stands in totes. */
  *standing(): Iterable<{ tote: string; castings: number }> {
    for (const { tote, castings } of this.#totes) yield { tote, castings: castings.length }
  }

  #drop(tote: Tote): void {
    this.#totes.splice(this.#totes.indexOf(tote), 1)
    this.#free.push(tote.tote)
  }
}
