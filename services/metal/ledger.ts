// How much of what is in what, computed and never stored: slots hold one composition each, cells are
// what one vessel did in one go. Used for metal (grams) and again for castings (thousandths).

import { FRESH, headOf, KEEP, OLDER, OPEN, PEEK, SET, TOLERANCE, UNKNOWN } from './op.ts'
import { sortCells } from './order.ts'
import {
  backwardPage,
  boundPage,
  forwardPage,
  massPage,
  type Notes,
  type Return,
  type Sweep,
} from './sweep.ts'

/** The slot of all that nobody reported. */
export const UNRECORDED = 0

/** Flat pairs: slot, amount. Above 0 is poured in from the slot, below 0 tapped into it. Whole amounts. */
export type Ops = number[]

/** First of a cell's ops: it goes on with what the vessel holds; without it mixing starts fresh. */
export const open = (vessel: number): Ops => [OPEN, vessel]

/**
 * Measured: the vessel holds `amount` from now on. More than the book says by up to `tolerance` is
 * the same stuff weighed better, by more it is unrecorded; less was drawn as it was; 0 is emptied.
 */
export const set = (amount: number, tolerance = 0): Ops =>
  tolerance > 0 ? [TOLERANCE, tolerance, SET, amount] : [SET, amount]

/** Anything from nothing to all of what the vessel holds was kept. */
export const keep = (): Ops => [KEEP, 0]

/** Nobody reported the vessel empty: up to `assumed` of unrecorded stuff may be in it. */
export const unknown = (assumed: number): Ops => [UNKNOWN, assumed]

/** `vessel` fixes the cell's place in that vessel's chain by (at, tie). `at` in ms, kept in seconds. */
export interface CellKey {
  vessel?: number
  at: number
  /** Numbers before texts. Tells apart what the clock does not; texts cost memory. */
  tie: string | number
}

export interface Forward {
  /** As the ledger stood then: versions since ≤ asOf. Unit: as given to `write`. */
  asOf?: number
  /** Least or most a share can be, whatever KEEP kept and UNKNOWN held. */
  lean?: 'best' | 'low' | 'high'
  /** Values put in place of what is written into these slots. */
  force?: Iterable<[slot: number, value: number]>
  /** Follow what is unrecorded: it counts 1 in cells at or after `from`, 0 before. Unit: ms. */
  gaps?: { from: number }
}

export interface Backward {
  asOf?: number
  /** 'carry': not what a vessel held before the cell; cells: nothing that came through these. */
  without?: 'carry' | Iterable<number>
}

/** Where weights came from. Without `without`, `rest` sums to the weights given. */
export interface Origins {
  /** By slot: leaves and UNRECORDED hold the shares, all else 0. */
  rest: Float64Array
  /** By slot: weight that passed it. */
  through: Float64Array
  unrecorded: number
}

/** A vessel after one op of one of its cells. */
export interface Level {
  /** Unit: ms, to the second. */
  at: number
  cell: number
  op: 'in' | 'out' | 'set' | 'keep' | 'unknown'
  /** Poured in from or tapped into; UNRECORDED for the rest. */
  slot: number
  /** Of the op, never below 0. */
  amount: number
  /** In the vessel after it. */
  mass: number
  /** Followed share of it. */
  share: number
}

interface Version {
  since: number
  ops: Int32Array
}

export class Ledger {
  #leaf: boolean[] = [true]
  #vessels = 0
  #keys: CellKey[] = []
  #versions: Version[][] = []

  /** A new slot: holds one composition, written by one cell. */
  slot(): number {
    return this.#leaf.push(false) - 1
  }

  /** A new leaf slot: seeded, never written. */
  leaf(): number {
    return this.#leaf.push(true) - 1
  }

  /** A new lasting vessel. */
  vessel(): number {
    return this.#vessels++
  }

  /** A new cell: what one vessel did in one go. */
  cell(key: CellKey): number {
    this.#versions.push([])
    return this.#keys.push(key) - 1
  }

  /** A new version of a cell, in force from `since`; an empty list takes the cell out. */
  write(cell: number, since: number, ops: Ops): void {
    const versions = this.#versions[cell]!
    const place = versions.findLastIndex((version) => version.since <= since)
    const version = { since, ops: this.#packed(cell, ops) }
    if (versions[place]?.since === since) versions[place] = version
    else versions.splice(place + 1, 0, version)
  }

  /** Followed share of every slot, by slot. Seeds on leaves and UNRECORDED; on others they force. */
  forward(seeds: Iterable<[slot: number, value: number]>, how: Forward = {}): Float64Array {
    return this.#swept(seeds, how, undefined).share
  }

  /** Where weighted slots came from: the transpose of `forward`. */
  backward(weights: Iterable<[slot: number, weight: number]>, how: Backward = {}): Origins {
    const page = this.#page(how.asOf)
    const notes: Notes = { stack: new Float64Array(1024), top: 0 }
    const mass = new Float64Array(this.#vessels)
    massPage(mass, notes, page.ops, page.ops.length)
    const back: Return = {
      rest: new Float64Array(this.#leaf.length),
      through: new Float64Array(this.#leaf.length),
      held: new Float64Array(this.#vessels),
      mass,
      notes,
      cut: typeof how.without === 'object' ? new Set(how.without) : undefined,
      carry: how.without !== 'carry',
    }
    for (const [slot, weight] of weights) back.rest[slot]! += weight
    backwardPage(back, page.ops, page.ops.length)
    const { rest, through } = back
    for (let slot = 1; slot < rest.length; slot++) {
      if (this.#leaf[slot]) through[slot] = rest[slot]!
      else if (rest[slot] !== 0) {
        rest[UNRECORDED]! += rest[slot]!
        rest[slot] = 0
      }
    }
    through[UNRECORDED] = rest[UNRECORDED]!
    return { rest, through, unrecorded: rest[UNRECORDED]! }
  }

  /** A vessel over time: mass and followed share after each op of its cells. */
  levels(vessel: number, slots: Iterable<number>, asOf?: number): Level[] {
    const levels: Level[] = []
    const seeds: [number, number][] = [...slots].map((slot) => [slot, 1])
    const { seen } = this.#swept(seeds, asOf === undefined ? {} : { asOf }, { vessel, levels })
    for (const [k, level] of levels.entries()) {
      level.mass = seen.mass[k]!
      level.share = seen.share[k]!
    }
    return levels
  }

  /** Cells that stand in a circle of clocks and whose links against time were left out. */
  circles(asOf?: number): number[] {
    return this.#page(asOf).late
  }

  #packed(cell: number, ops: Ops): Int32Array {
    const key = this.#keys[cell]!
    const opens = ops[0] === OPEN
    if (opens && ops[1] !== key.vessel) throw new RangeError(`cell ${cell} opens another vessel`)
    const packed = [headOf(key.vessel ?? -1), cell]
    if (!opens && key.vessel !== undefined && ops.length > 0) packed.push(SET, 0)
    return Int32Array.from(packed.concat(opens ? ops.slice(2) : ops))
  }

  #compare = (a: number, b: number): number => {
    const [x, y] = [this.#keys[a]!, this.#keys[b]!]
    const clock = Math.floor(x.at / 1000) - Math.floor(y.at / 1000)
    if (clock !== 0) return clock
    if (typeof x.tie !== typeof y.tie) return typeof x.tie === 'number' ? -1 : 1
    return x.tie < y.tie ? -1 : x.tie > y.tie ? 1 : a - b
  }

  #page(asOf = Number.POSITIVE_INFINITY): { ops: Int32Array; late: number[] } {
    const count = this.#keys.length
    const current = this.#versions.map((versions) => versions.findLast((v) => v.since <= asOf)?.ops)
    const byClock = Int32Array.from(this.#keys.keys()).sort(this.#compare)
    const writers = new Map<number, number[]>()
    const before = new Map<number, number>()
    const last = new Map<number, number>()
    for (const cell of byClock) {
      const ops = current[cell]
      if (ops === undefined) continue
      const { vessel } = this.#keys[cell]!
      if (vessel !== undefined) {
        if (last.has(vessel)) before.set(cell, last.get(vessel)!)
        last.set(vessel, cell)
      }
      for (let i = 2; i < ops.length; i += 2) {
        if (ops[i]! > 0 && ops[i + 1]! < 0) {
          const known = writers.get(ops[i]!)
          if (known) known.push(cell)
          else writers.set(ops[i]!, [cell])
        }
      }
    }
    const order = sortCells(
      byClock,
      count,
      (cell, visit) => {
        const ops = current[cell]
        if (ops === undefined) return
        if (before.has(cell)) visit(before.get(cell)!)
        for (let i = 2; i < ops.length; i += 2) {
          if (ops[i]! <= 0) continue
          for (const writer of writers.get(ops[i]!) ?? []) {
            if (ops[i + 1]! > 0 ? writer !== cell : this.#compare(writer, cell) < 0) visit(writer)
          }
        }
      },
      this.#compare,
    )
    const ops: number[] = []
    for (const cell of order.cells) for (const word of current[cell] ?? []) ops.push(word)
    return { ops: Int32Array.from(ops), late: order.late }
  }

  #swept(
    seeds: Iterable<[number, number]>,
    how: Forward,
    look: { vessel: number; levels: Level[] } | undefined,
  ): Sweep {
    const page = this.#page(how.asOf)
    const forced = new Map(how.force)
    const from = how.gaps && Math.floor(how.gaps.from / 1000)
    const sweep: Sweep = {
      share: new Float64Array(this.#leaf.length),
      held: new Float64Array(this.#vessels),
      mass: new Float64Array(this.#vessels),
      most: new Float64Array(this.#vessels),
      unrecorded: 0,
      at: Uint32Array.from(this.#keys, (key) => Math.floor(key.at / 1000)),
      from,
      forced: undefined,
      seen: { share: [], mass: [] },
    }
    const { share } = sweep
    for (const [slot, value] of seeds) {
      if (slot === UNRECORDED) sweep.unrecorded = value
      else if (this.#leaf[slot]) share[slot] = value
      else forced.set(slot, value)
    }
    if (from !== undefined || sweep.unrecorded !== 0) {
      for (let slot = 0; slot < share.length; slot++)
        if (!this.#leaf[slot]) share[slot] = Number.NaN
      share[UNRECORDED] = Number.NaN
    }
    for (const [slot, value] of forced) share[slot] = value
    if (forced.size > 0) sweep.forced = forced
    const ops = look ? watched(page.ops, look, this.#keys) : page.ops
    if (how.lean === 'low') boundPage(sweep, ops, ops.length, -1)
    else if (how.lean === 'high') boundPage(sweep, ops, ops.length, 1)
    else forwardPage(sweep, ops, ops.length)
    const nobody = from === undefined ? sweep.unrecorded : 1
    for (let slot = 0; slot < share.length; slot++)
      if (Number.isNaN(share[slot])) share[slot] = nobody
    return sweep
  }
}

const WORDS: Record<number, Level['op']> = { [SET]: 'set', [KEEP]: 'keep', [UNKNOWN]: 'unknown' }

// The same pairs with a PEEK after each op of the vessel, and a level begun for each.
function watched(
  ops: Int32Array,
  { vessel, levels }: { vessel: number; levels: Level[] },
  keys: CellKey[],
): Int32Array {
  const out: number[] = []
  let cell = -1
  let watch = false
  for (let i = 0; i < ops.length; i += 2) {
    const slot = ops[i]!
    const amount = ops[i + 1]!
    out.push(slot, amount)
    if (slot <= FRESH) {
      cell = amount
      watch = slot === headOf(vessel)
    } else if (watch && slot !== TOLERANCE && slot !== OLDER) {
      const at = 1000 * Math.floor(keys[cell]!.at / 1000)
      const op = WORDS[slot] ?? (amount > 0 ? 'in' : 'out')
      out.push(PEEK, levels.length)
      levels.push({
        at,
        cell,
        op,
        slot: Math.max(slot, UNRECORDED),
        amount: Math.abs(amount),
        mass: 0,
        share: 0,
      })
    }
  }
  return Int32Array.from(out)
}
