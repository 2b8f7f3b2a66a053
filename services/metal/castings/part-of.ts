// The part of a slot that is affected, worked out for it and what it was mixed from alone: for a few
// things at a time, where a sweep over all there is would not pay.
import { UNRECORDED } from '../ledger/writing.ts'
import type { Mixing } from './mixing.ts'
import { compareRanks, POURED } from './rank.ts'

export class PartOf {
  readonly #mixing: Mixing
  /** Parts known from the start: of leaves, and of slots that something touched. */
  readonly #given: (slot: number) => number | undefined
  readonly #found = new Map<number, number>([[UNRECORDED, 0]])

  constructor(mixing: Mixing, given: (slot: number) => number | undefined) {
    this.#mixing = mixing
    this.#given = given
  }

  of(slot: number): number {
    if (!this.#found.has(slot)) this.#workOut(slot)
    return this.#found.get(slot)!
  }

  #workOut(asked: number): void {
    const cone = new Set<number>()
    const waiting = [asked]
    for (let slot = waiting.pop(); slot !== undefined; slot = waiting.pop()) {
      if (cone.has(slot) || this.#found.has(slot)) continue
      const given = this.#given(slot)
      if (given !== undefined) this.#found.set(slot, given)
      else {
        cone.add(slot)
        for (const part of this.#mixing.partsOf(slot)) waiting.push(part.slot)
      }
    }
    const rank = (slot: number) => this.#mixing.rankOf(slot) ?? POURED
    for (const slot of [...cone].sort((a, b) => compareRanks(rank(a), rank(b)))) {
      let [affected, all] = [0, 0]
      for (const part of this.#mixing.partsOf(slot)) {
        affected += part.amount * (this.#found.get(part.slot) ?? 0)
        all += part.amount
      }
      this.#found.set(slot, all > 0 ? affected / all : 0)
    }
  }
}
