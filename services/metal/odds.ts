// How many castings taken together are affected: at least one, and fewest and most. Worked out for the
// rows that are asked for, and not for every pack there is.

import type { AtLeastOne, Group } from './castings/at-least-one.ts'
import type { Bounds } from './castings/hard-bounds.ts'
import type { Castings } from './castings.ts'
import { kept } from './kept.ts'

/** Parts of leaves that are affected: as expected, surely, and at most. */
export interface Seeds {
  best: ReadonlyMap<number, number>
  low: ReadonlyMap<number, number>
  high: ReadonlyMap<number, number>
}

/** Slots that something touched, surely and perhaps. */
export interface Touched {
  sure: ReadonlySet<number>
  perhaps: ReadonlySet<number>
}

type Lean = keyof Seeds

export class Odds {
  readonly #castings: Castings
  readonly #seeds: Seeds
  readonly #touched: Touched
  readonly #atLeastOne = new Map<Lean, (groups: readonly Group[]) => AtLeastOne>()
  #bounds: ((groups: readonly Group[]) => Bounds) | undefined

  constructor(castings: Castings, seeds: Seeds, touched: Touched) {
    this.#castings = castings
    this.#seeds = seeds
    this.#touched = touched
  }

  /** By drawing without putting back; never as if castings were independent. */
  atLeastOne(groups: readonly Group[], lean: Lean = 'best'): AtLeastOne {
    const { sure } = this.#touched
    const seeds = this.#seeds[lean]
    const surely = this.#seeds[lean === 'best' ? 'low' : lean]
    const ask = kept(this.#atLeastOne, lean, () =>
      this.#castings.atLeastOne(
        (slot) => (sure.has(slot) ? 1 : seeds.get(slot)),
        (slot) => (sure.has(slot) ? 1 : surely.get(slot)),
      ),
    )
    return ask(groups)
  }

  /** Castings of unknown origin count as perhaps affected. */
  bounds(groups: readonly Group[]): Bounds {
    this.#bounds ??= this.#castings.hardBounds(this.#seeds, this.#touched)
    return this.#bounds(groups)
  }
}
