// Fewest and most castings that can be affected whatever way they fell: of n taken from N of which a
// are, at least max(0, n − (N − a)) and at most min(n, a).
import { UNRECORDED } from '../ledger/writing.ts'
import type { Group } from './at-least-one.ts'
import type { Mixing } from './mixing.ts'
import { mayBe, type Piece } from './piece.ts'
import { compareRanks } from './rank.ts'
import { type Held, INFERRED } from './serving.ts'
import type { Draw, Stock } from './stock.ts'

/** Unit: castings. */
export interface Bounds {
  least: number
  most: number
}

/** What is known of the castings of a slot before it is mixed: undefined where that is worked out. */
export interface Known {
  mixing: Mixing<Stock>
  /** Of a leaf, and of slots that something touched. */
  bounds(slot: number): Bounds | undefined
  sizeOf(leaf: number): number
  /** Whether castings of unknown origin may be affected. */
  open: boolean
}

const NONE: Bounds = { least: 0, most: 0 }

export class HardBounds {
  readonly #known: Known
  readonly #found = new Map<number, Bounds>()

  constructor(known: Known) {
    this.#known = known
  }

  /** Of castings taken together. */
  of(groups: readonly Group[]): Bounds {
    const bySlot = new Map<number, number>()
    for (const { slot, castings } of groups) bySlot.set(slot, (bySlot.get(slot) ?? 0) + castings)
    this.#workOut([...bySlot.keys()])
    let [least, most] = [0, 0]
    for (const [slot, castings] of bySlot) {
      const taken = this.#taken(castings, this.#sizeOf(slot), [slot])
      least += taken.least
      most += taken.most
    }
    return { least, most }
  }

  /** Works out slots and what they were mixed from, earliest first. */
  #workOut(slots: readonly number[]): void {
    const { mixing } = this.#known
    const waiting = [...slots]
    const cone = new Set<number>()
    for (let slot = waiting.pop(); slot !== undefined; slot = waiting.pop()) {
      if (cone.has(slot) || this.#found.has(slot) || slot === UNRECORDED) continue
      cone.add(slot)
      for (const { held } of sourcesOf(mixing.stockOf(slot))) {
        for (const one of held) waiting.push(one.slot)
      }
    }
    const mixed = [...cone].map((slot) => ({ slot, stock: mixing.stockOf(slot) }))
    mixed.sort((a, b) =>
      a.stock && b.stock ? compareRanks(a.stock.rank, b.stock.rank) : a.stock ? 1 : -1,
    )
    for (const { slot, stock } of mixed) {
      this.#found.set(slot, this.#known.bounds(slot) ?? (stock ? this.#mixed(stock, slot) : NONE))
    }
  }

  #mixed(stock: Stock, slot: number): Bounds {
    const own = stock.held.find((held) => held.slot === slot)
    if (!own) return NONE
    let [least, most] = [0, 0]
    for (const { draws } of stock.inflows) {
      let [filledIn, mostFilledIn] = [0, 0]
      for (const draw of draws) {
        const found = this.#drawn(stock, own.piece, draw)
        least += found.least
        if (draw.turn === INFERRED) {
          filledIn += amountOf(draw.got)
          mostFilledIn += found.most
        } else most += found.most
      }
      most += Math.min(filledIn, mostFilledIn)
    }
    if (this.#known.open) {
      for (const { piece, amount } of stock.unrecorded)
        if (mayBe(piece, own.piece)) most += amount / 1000
    }
    const size = own.amount / 1000
    return { least: Math.min(least, size), most: Math.min(most, size) }
  }

  /** What one draw brought to castings of one piece. */
  #drawn(into: Stock, piece: Piece, draw: Draw): Bounds {
    const { got, from, wanted, turn } = draw
    const landing = got.filter((held) => into.lands(held.piece, wanted) === piece)
    if (landing.length === 0) return NONE
    const slots = landing.map(({ slot }) => slot)
    const there = from && !from.endless ? fitting(from, wanted) : got
    // How many of them were filled in is a guess: up to all that was there.
    const castings = turn === INFERRED ? Number.POSITIVE_INFINITY : amountOf(got)
    const size = amountOf(there)
    const { least, most } = this.#taken(Math.min(castings, size), size, slots)
    return { least: turn === INFERRED ? 0 : least, most }
  }

  /** Of so many taken from so many, those of some slots. */
  #taken(castings: number, size: number, slots: readonly number[]): Bounds {
    let [least, most] = [0, 0]
    for (const slot of slots) {
      const found = this.#boundsOf(slot)
      least += found.least
      most += found.most
    }
    return { least: Math.max(0, castings - (size - least)), most: Math.min(castings, most) }
  }

  #boundsOf(slot: number): Bounds {
    if (slot !== UNRECORDED) return this.#found.get(slot) ?? NONE
    return this.#known.open ? { least: 0, most: Number.POSITIVE_INFINITY } : NONE
  }

  #sizeOf(slot: number): number {
    const { mixing, sizeOf } = this.#known
    const stock = mixing.stockOf(slot)
    if (slot === UNRECORDED) return Number.POSITIVE_INFINITY
    if (!stock) return sizeOf(slot)
    return amountOf(stock.held.filter((held) => held.slot === slot))
  }
}

/** Stocks that a stock took from, with what was there that fits. */
function sourcesOf(stock: Stock | undefined): { held: readonly Held[] }[] {
  const draws = stock?.inflows.flatMap((inflow) => inflow.draws) ?? []
  return draws.map((draw) => ({ held: draw.from ? fitting(draw.from, draw.wanted) : draw.got }))
}

function fitting(from: Stock, wanted: Piece): readonly Held[] {
  return from.held.filter(({ piece }) => mayBe(piece, wanted))
}

/** Unit: castings. */
function amountOf(held: readonly { amount: number }[]): number {
  return held.reduce((sum, { amount }) => sum + amount, 0) / 1000
}
