import { type Ops, set } from '../ledger/writing.ts'
import { Ledger } from '../ledger.ts'
import { Queue } from './queue.ts'
import { compareRanks, type Rank } from './rank.ts'

/** Compositions mixed at one place in one go, each of its own. */
export interface Mix<Stock = unknown> {
  readonly cell: number
  readonly rank: Rank
  /** Where they are mixed. */
  readonly stock: Stock | undefined
  /** What each was mixed from, one after the other, the vessel emptied in between. */
  ops: Ops
}

/** Castings of one slot that went into another. Unit: thousandths of a casting. */
export interface Part {
  slot: number
  amount: number
}

// What the ledger's clock holds, 2106-02-07; whose clock is further off still keeps its order by rank.
const LATEST = 0xffff_ffff * 1000

/** The castings ledger, with what each slot was mixed from at hand, and in which stock. */
export class Mixing<Stock = unknown> {
  readonly ledger = new Ledger()
  /** By slot: what it is mixed in. */
  readonly #mixes: (Mix<Stock> | undefined)[] = []
  /** By slot: the pour it is castings of. */
  readonly #pours: (number | undefined)[] = []

  /** A new leaf: castings of a pour. */
  leaf(pour: number): number {
    const slot = this.ledger.leaf()
    this.#pours[slot] = pour
    return slot
  }

  /** The pour a leaf is of. */
  pourOf(slot: number): number | undefined {
    return this.#pours[slot]
  }

  /** When a slot was mixed; undefined for a leaf. */
  rankOf(slot: number): Rank | undefined {
    return this.#mixes[slot]?.rank
  }

  /** Where a slot was mixed; undefined for a leaf. */
  stockOf(slot: number): Stock | undefined {
    return this.#mixes[slot]?.stock
  }

  /** What a slot was mixed from; nothing for a leaf. */
  partsOf(slot: number): Part[] {
    const ops = this.#mixes[slot]?.ops ?? []
    let parts: Part[] = []
    for (let i = 0; i < ops.length; i += 2) {
      const [from, amount] = [ops[i]!, ops[i + 1]!]
      if (from < 0) parts = []
      else if (amount > 0) parts.push({ slot: from, amount })
      else if (from === slot) return parts
    }
    return []
  }

  mix(rank: Rank, stock?: Stock): Mix<Stock> {
    const at = Math.min(Math.max(rank.at, 0), LATEST)
    return { cell: this.ledger.cell({ at, tie: rank.tie }), rank, stock, ops: [] }
  }

  /** A new composition of a mix. */
  slot(mix: Mix<Stock>): number {
    const slot = this.ledger.slot()
    this.#mixes[slot] = mix
    return slot
  }

  /** Ops as the ledger wants them; an empty list takes all its compositions out. */
  write(mix: Mix, ops: Ops): void {
    if (ops.length === mix.ops.length && ops.every((word, i) => word === mix.ops[i])) return
    mix.ops = ops
    this.ledger.write(mix.cell, 0, ops)
  }

  /** All slots that castings of some slots are from, these and leaves among them. */
  upstreamOf(slots: Iterable<number>): Set<number> {
    const found = new Set(slots)
    for (const slot of found) for (const part of this.partsOf(slot)) found.add(part.slot)
    return found
  }

  /** Leaves that weighted slots come from, without a sweep over all there is. */
  leavesOf(weights: Iterable<[slot: number, weight: number]>): Map<number, number> {
    const waiting = new Queue<Mix<Stock>>((a, b) => compareRanks(b.rank, a.rank))
    const passing = new Map<number, number>()
    const leaves = new Map<number, number>()
    const arrive = (slot: number, weight: number) => {
      const mix = this.#mixes[slot]
      const into = mix ? passing : leaves
      into.set(slot, (into.get(slot) ?? 0) + weight)
      if (mix) waiting.add(mix)
    }
    for (const [slot, weight] of weights) arrive(slot, weight)
    for (let mix = waiting.take(); mix; mix = waiting.take()) pass(mix, passing, arrive)
    return leaves
  }
}

/** Between two compositions of one mix. */
export const EMPTIED: Ops = set(0)

/** Hands on what arrived at the compositions of a mix to what they were mixed from. */
function pass(
  mix: Mix,
  passing: Map<number, number>,
  arrive: (slot: number, weight: number) => void,
): void {
  const { ops } = mix
  for (let first = 0, i = 0; i < ops.length; i += 2) {
    const [slot, amount] = [ops[i]!, ops[i + 1]!]
    if (slot < 0) first = i + 2
    else if (amount < 0) {
      const weight = passing.get(slot)
      passing.delete(slot)
      if (weight === undefined) continue
      for (let k = first; k < i; k += 2) arrive(ops[k]!, (weight * ops[k + 1]!) / -amount)
    }
  }
}
