import { Ledger, type Ops } from './ledger.ts'
import { Queue } from './queue.ts'
import { compareRanks, type Rank } from './rank.ts'

/** One composition mixed from others. */
export interface Mix {
  slot: number
  cell: number
  rank: Rank
  ops: Ops
}

/** The castings ledger, with what each slot was mixed from at hand. */
export class Mixing {
  readonly ledger = new Ledger()
  readonly #mixes = new Map<number, Mix>()
  readonly #pours = new Map<number, number>()

  /** A new leaf: castings of a pour. */
  leaf(pour: number): number {
    const slot = this.ledger.leaf()
    this.#pours.set(slot, pour)
    return slot
  }

  /** The pour a leaf is of. */
  pourOf(slot: number): number | undefined {
    return this.#pours.get(slot)
  }

  /** A new composition. */
  mix(rank: Rank): Mix {
    const mix: Mix = { slot: this.ledger.slot(), cell: this.ledger.cell(rank), rank, ops: [] }
    this.#mixes.set(mix.slot, mix)
    return mix
  }

  /** What it is mixed from, in thousandths of a casting; nothing takes it out. */
  write(mix: Mix, parts: Iterable<[slot: number, amount: number]>): void {
    const ops: Ops = []
    let total = 0
    for (const [slot, amount] of parts) {
      ops.push(slot, amount)
      total += amount
    }
    if (total > 0) ops.push(mix.slot, -total)
    if (ops.length === mix.ops.length && ops.every((word, i) => word === mix.ops[i])) return
    mix.ops = ops
    this.ledger.write(mix.cell, 0, ops)
  }

  /** Leaves that weighted slots come from, without a sweep over all there is. */
  leavesOf(weights: Iterable<[slot: number, weight: number]>): Map<number, number> {
    const waiting = new Queue<Mix>((a, b) => compareRanks(b.rank, a.rank) || b.slot - a.slot)
    const passing = new Map<number, number>()
    const leaves = new Map<number, number>()
    const arrive = (slot: number, weight: number) => {
      const mix = this.#mixes.get(slot)
      const into = mix ? passing : leaves
      into.set(slot, (into.get(slot) ?? 0) + weight)
      if (mix) waiting.add(mix)
    }
    for (const [slot, weight] of weights) arrive(slot, weight)
    for (let mix = waiting.take(); mix; mix = waiting.take()) {
      const weight = passing.get(mix.slot)!
      passing.delete(mix.slot)
      const total = -mix.ops.at(-1)!
      for (let i = 0; i < mix.ops.length - 2; i += 2) {
        arrive(mix.ops[i]!, (weight * mix.ops[i + 1]!) / total)
      }
    }
    return leaves
  }
}
