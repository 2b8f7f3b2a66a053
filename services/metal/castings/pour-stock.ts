import type { Grams } from '../../events/fact.ts'
import { kept } from '../kept.ts'
import type { Mixing } from './mixing.ts'
import type { Count, Poured } from './molds.ts'
import { ANY, type Piece, pieceOf } from './piece.ts'
import { POURED } from './rank.ts'
import { Stock } from './stock.ts'

/** Castings of one pour and piece: a leaf of the castings ledger. */
export interface Unit {
  slot: number
  pour: number
  /** Empty where nobody can say. */
  product: string
  cavity: string
  castings: number
  /** Of one casting. */
  grams?: Grams
}

/** A pour and its castings; one that is only named gives whatever is asked of it. */
export class Pour {
  readonly no: number
  readonly stock: Stock
  poured: Poured | undefined
  count: Count | undefined
  /** How many pans name it as their own source. */
  #pans = 0
  readonly #mixing: Mixing
  readonly #leaves = new Map<Piece, number>()

  constructor(no: number, mixing: Mixing) {
    this.no = no
    this.#mixing = mixing
    this.stock = new Stock(no, POURED, { place: 'IN_PROCESS' })
    this.recount(undefined, undefined)
  }

  recount(poured: Poured | undefined, count: Count | undefined): void {
    this.poured = poured
    this.count = count
    const casts = count?.casts ?? []
    this.stock.made = casts.map(({ piece, amount }) => ({ piece, slot: this.#leaf(piece), amount }))
    const open = count?.open ?? true
    this.stock.endless = open ? ({ product }) => this.#leaf(pieceOf(product)) : undefined
  }

  /** Counted from its molds. Unit: thousandths of a casting. */
  get made(): number {
    return this.count?.casts.reduce((sum, { amount }) => sum + amount, 0) ?? 0
  }

  *units(): Iterable<Unit> {
    const given = new Map<number, number>()
    for (const draw of this.stock.outs) {
      for (const { slot, amount } of draw.got) given.set(slot, (given.get(slot) ?? 0) + amount)
    }
    const named = this.stock.endless && this.#pans > 0 ? this.#leaf(ANY) : undefined
    for (const [piece, slot] of this.#leaves) {
      const cast = this.count?.casts.find((one) => one.piece === piece)
      const amount = Math.max(cast?.amount ?? 0, this.stock.endless ? (given.get(slot) ?? 0) : 0)
      if (amount === 0 && slot !== named) continue
      const unit: Unit = { slot, pour: this.no, ...piece, castings: amount / 1000 }
      if (cast?.grams !== undefined) unit.grams = cast.grams
      yield unit
    }
  }

  /** A pan names it, or does so no more. Its castings have a leaf, even if nobody counted them. */
  name(pans: 1 | -1): void {
    this.#pans += pans
    this.#leaf(ANY)
  }

  /** Of one casting of a leaf. */
  gramsOf(leaf: number): Grams | undefined {
    return this.count?.casts.find(({ piece }) => this.#leaves.get(piece) === leaf)?.grams
  }

  #leaf(piece: Piece): number {
    return kept(this.#leaves, piece, () => this.#mixing.leaf(this.no))
  }
}
