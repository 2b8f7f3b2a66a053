// How much of what is in what, computed and never stored: slots hold one composition each, cells are
// what one vessel did in one go. Used for metal (grams) and again for castings (thousandths).

import { AsOf } from './as-of.ts'
import { Chains } from './chains.ts'
import { Clock } from './clock.ts'
import { demanded, dependencies, type Parts, packed } from './depend.ts'
import { FRESH, headOf, KEEP, OLDER, OPEN, PEEK, SET, TOLERANCE, UNKNOWN } from './op.ts'
import { type Order, sortCells } from './order.ts'
import { type Page, Pages } from './pages.ts'
import { type Demand, settle } from './place.ts'
import {
  backwardPage,
  boundPage,
  forwardPage,
  massPage,
  type Notes,
  type Return,
  type Sweep,
  UNTOUCHED,
} from './sweep.ts'
import { Versions } from './versions.ts'
import { Writers } from './writers.ts'

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

/** Cells in order, to sweep; with `patch` each page is read as it stood then. */
interface View {
  pages: Page[]
  patch: number | undefined
  late: number[]
}

export class Ledger {
  readonly #parts: Parts
  /** Vessels of cells not written yet. */
  readonly #vessels = new Map<number, number>()
  /** No version is in force since a later moment. */
  #newest = Number.NEGATIVE_INFINITY
  #sorted = false
  readonly #budget = { words: 0 }
  /** Whether the order holds for every version, or only for those in force now. */
  #forAll = false
  #late: number[] = []
  #circular = new Set<number>()
  #then: { asOf: number; view: View } | undefined

  constructor() {
    const pages = new Pages()
    this.#parts = {
      clock: new Clock(),
      chains: new Chains(),
      writers: new Writers(),
      pages,
      versions: new Versions(pages),
    }
    this.leaf()
  }

  /** A new slot: holds one composition, written by one cell. */
  slot(): number {
    return this.#parts.writers.add(false)
  }

  /** A new leaf slot: seeded, never written. */
  leaf(): number {
    return this.#parts.writers.add(true)
  }

  /** A new lasting vessel. */
  vessel(): number {
    return this.#parts.chains.add()
  }

  /** A new cell: what one vessel did in one go. */
  cell(key: CellKey): number {
    const cell = this.#parts.clock.add(key.at, key.tie)
    if (key.vessel !== undefined) this.#vessels.set(cell, key.vessel)
    return cell
  }

  /**
   * A new version of a cell, in force from `since`; an empty list takes the cell out. Of two versions
   * since one moment the one written later stands.
   * Throws RangeError for an op that makes no sense: such come from code, not from reports.
   */
  write(cell: number, since: number, ops: Ops): void {
    const { pages, versions, chains, clock } = this.#parts
    const fresh = !pages.has(cell)
    const vessel = fresh ? (this.#vessels.get(cell) ?? -1) : pages.vesselOf(cell)
    const block = packed(this.#parts.writers, cell, vessel, ops)
    const current = fresh || since >= versions.since[cell]!
    const tame = this.#forAll || fresh || !current || this.#keepsTo(cell, block)
    if (!fresh && !versions.follow(cell, since, block)) return
    this.#newest = Math.max(this.#newest, since)
    this.#then = undefined
    const demand = demanded(this.#parts, cell, block)
    if (fresh) {
      this.#vessels.delete(cell)
      versions.begin(cell, since)
      demand.fresh = { since, block }
      if (vessel >= 0 && this.#sorted) {
        const { before, after } = chains.insert(vessel, cell, clock.compare)
        if (before >= 0) demand.after.add(before)
        if (after >= 0) demand.before.add(after)
      } else if (vessel >= 0) chains.push(vessel, cell)
    }
    if (this.#sorted && tame && this.#settled(demand, current)) return
    this.#sorted = false
    if (fresh) pages.append(cell, since, block)
  }

  /** Followed share of every slot, by slot. Seeds on leaves and UNRECORDED; on others they force. */
  forward(seeds: Iterable<[slot: number, value: number]>, how: Forward = {}): Float64Array {
    return this.#swept(seeds, how).share
  }

  /** Where weighted slots came from: the transpose of `forward`. */
  backward(weights: Iterable<[slot: number, weight: number]>, how: Backward = {}): Origins {
    const { writers, chains } = this.#parts
    const view = this.#view(how.asOf)
    const mass = new Float64Array(chains.count)
    const notes: Notes = { stack: new Float64Array(1024), top: 0 }
    this.#each(view, (ops, end) => massPage(mass, notes, ops, end))
    const back: Return = {
      rest: new Float64Array(writers.count),
      through: new Float64Array(writers.count),
      held: new Float64Array(chains.count),
      mass,
      notes,
      cut: typeof how.without === 'object' ? new Set(how.without) : undefined,
      carry: how.without !== 'carry',
    }
    const { rest, through } = back
    for (const [slot, weight] of weights) rest[slot]! += weight
    this.#each(view, (ops, end) => backwardPage(back, ops, end), 'backwards')
    for (let slot = 1; slot < rest.length; slot++) {
      const left = rest[slot]!
      if (left === 0) continue
      if (writers.isLeaf(slot)) through[slot] = left
      else {
        // Read before it was written, or by nobody ever.
        rest[UNRECORDED]! += left
        rest[slot] = 0
      }
    }
    through[UNRECORDED] = rest[UNRECORDED]!
    return { rest, through, unrecorded: rest[UNRECORDED]! }
  }

  /** A vessel over time: mass and followed share after each op of its cells. */
  levels(vessel: number, slots: Iterable<number>, asOf?: number): Level[] {
    const levels: Level[] = []
    const seeds = Array.from(slots, (slot): [number, number] => [slot, 1])
    const { seen } = this.#swept(seeds, asOf === undefined ? {} : { asOf }, { vessel, levels })
    for (const [k, level] of levels.entries()) {
      level.mass = seen.mass[k]!
      level.share = seen.share[k]!
    }
    return levels
  }

  /** Cells that stand in a circle of clocks and whose links against time were left out. */
  circles(asOf?: number): number[] {
    return this.#view(asOf).late
  }

  /** Gives back what growing took in advance; worth it after a long load. */
  compact(): void {
    this.#sort()
    const { clock, chains, writers, pages, versions } = this.#parts
    pages.lay(pages.cells(), versions.since)
    pages.compact(clock.count)
    versions.compact(clock.count)
    clock.compact()
    chains.compact()
    writers.compact()
  }

  #swept(
    seeds: Iterable<[number, number]>,
    how: Forward,
    look?: { vessel: number; levels: Level[] },
  ): Sweep {
    const { writers, chains, clock } = this.#parts
    const view = this.#view(how.asOf)
    const from = how.gaps && Math.floor(how.gaps.from / 1000)
    const share = new Float64Array(writers.count)
    const sweep: Sweep = {
      share,
      held: new Float64Array(chains.count),
      mass: new Float64Array(chains.count).fill(UNTOUCHED),
      most: new Float64Array(how.lean === 'low' || how.lean === 'high' ? chains.count : 0),
      unrecorded: 0,
      at: clock.at,
      from,
      forced: undefined,
      force: new Map(how.force),
      seen: { share: [], mass: [] },
    }
    for (const [slot, value] of seeds) {
      if (slot === UNRECORDED) sweep.unrecorded = value
      else if (writers.isLeaf(slot)) share[slot] = value
      else if (!sweep.force.has(slot)) sweep.force.set(slot, value)
    }
    const follows = from !== undefined || sweep.unrecorded !== 0
    if (follows) {
      for (let slot = 0; slot < share.length; slot++) {
        if (slot === UNRECORDED || !writers.isLeaf(slot)) share[slot] = Number.NaN
      }
    }
    if (sweep.force.size > 0) {
      sweep.forced = new Uint8Array(share.length)
      for (const [slot, value] of sweep.force) {
        share[slot] = value
        sweep.forced[slot] = 1
      }
    }
    const sign = how.lean === 'low' ? -1 : 1
    this.#each(view, (page, length) => {
      const ops = look ? watched(page, length, look, clock.at) : page
      const end = look ? ops.length : length
      if (how.lean === 'low' || how.lean === 'high') boundPage(sweep, ops, end, sign)
      else forwardPage(sweep, ops, end)
    })
    if (follows) {
      const nobody = from === undefined ? sweep.unrecorded : 1
      for (let slot = 0; slot < share.length; slot++) {
        if (Number.isNaN(share[slot])) share[slot] = nobody
      }
    }
    return sweep
  }

  #each(view: View, visit: (ops: Int32Array, end: number) => void, way?: 'backwards'): void {
    const { pages, patch } = view
    const then = patch === undefined ? undefined : new AsOf(this.#parts.versions, patch)
    for (let k = 0; k < pages.length; k++) {
      const page = pages[way ? pages.length - 1 - k : k]!
      const { ops, end } = then ? then.page(page) : page
      visit(ops, end)
    }
  }

  #view(asOf = Number.POSITIVE_INFINITY): View {
    this.#sort()
    const pages = this.#parts.pages.list
    if (asOf >= this.#newest) return { pages, patch: undefined, late: this.#late }
    if (this.#forAll) return { pages, patch: asOf, late: [] }
    if (this.#then?.asOf !== asOf) this.#then = { asOf, view: this.#laidOut(asOf) }
    return this.#then.view
  }

  // Where no one order holds for every version, an earlier moment is sorted by itself.
  #laidOut(asOf: number): View {
    const { pages, versions } = this.#parts
    const order = this.#order(asOf)
    const then = new AsOf(versions, asOf)
    const { page, start } = pages.places()
    const ops: number[] = []
    for (const cell of order.cells) {
      if (!pages.has(cell)) continue
      const block = then.block(pages.list[page[cell]!]!, start[cell]!)
      for (let i = 0; i < block.end; i++) ops.push(block.ops[i]!)
    }
    const all: Page = {
      ops: Int32Array.from(ops),
      end: ops.length,
      rank: 0,
      number: 0,
      newest: asOf,
    }
    return { pages: [all], patch: undefined, late: this.#acting(order, asOf) }
  }

  #sort(): void {
    if (this.#sorted) return
    const { chains, clock, writers, pages, versions } = this.#parts
    chains.sort(clock.compare)
    writers.forgetWaiting()
    const all = this.#order('all')
    this.#forAll = all.late.length === 0
    const now = this.#forAll || versions.past.isEmpty ? all : this.#order(Number.POSITIVE_INFINITY)
    pages.lay(now.cells, versions.since)
    this.#late = this.#acting(now, Number.POSITIVE_INFINITY)
    this.#circular = now.circular
    this.#sorted = true
    this.#budget.words = pages.words()
  }

  #order(asOf: number | 'all'): Order {
    const { clock } = this.#parts
    return sortCells(clock.cells(), clock.count, dependencies(this.#parts, asOf), clock.compare)
  }

  // Of the cells whose links were left out those that did anything at all then.
  #acting(order: Order, asOf: number): number[] {
    const { pages, versions } = this.#parts
    return order.late.filter((cell) => {
      let acts = false
      versions.eachOp(pages.pageOf(cell), pages.startOf(cell), asOf, (slot) => {
        acts ||= slot >= 0
      })
      return acts
    })
  }

  // Brings the order in line with a version; false where only sorting will do.
  #settled(demand: Demand, current: boolean): boolean {
    if (!this.#forAll) {
      if (!current) return true
      // Readers of a slot need not stand behind one that wrote it in an older version.
      if (demand.shared.size > 0) return false
      // Where there are circles, what something depends on may close another one.
      if (this.#circular.size > 0 && demand.before.size > 0) return false
    }
    return settle(this.#parts, demand, this.#budget)
  }

  // Where the order holds for the newest versions only: whether one that follows changes so little
  // that it still can be brought in line.
  #keepsTo(cell: number, block: Int32Array): boolean {
    const circles = this.#circular.size > 0
    if (circles && this.#circular.has(cell)) return false
    const { pages, versions, writers } = this.#parts
    const read = new Set<number>()
    const written = new Set<number>()
    const newest = Number.POSITIVE_INFINITY
    versions.eachOp(pages.pageOf(cell), pages.startOf(cell), newest, (slot, amount) => {
      if (amount > 0) read.add(slot)
      else written.add(slot)
    })
    for (let i = 2; i < block.length; i += 2) {
      const slot = block[i]!
      if (slot <= 0) continue
      if (block[i + 1]! > 0 ? circles && !read.has(slot) : !written.has(slot) && !writers.isOpen(slot)) {
        return false
      }
    }
    return true
  }
}

const WORDS: Record<number, Level['op']> = { [SET]: 'set', [KEEP]: 'keep', [UNKNOWN]: 'unknown' }

// The same pairs with a PEEK after each op of the vessel, and a level begun for each.
function watched(
  ops: Int32Array,
  end: number,
  { vessel, levels }: { vessel: number; levels: Level[] },
  seconds: Uint32Array,
): Int32Array {
  const out: number[] = []
  let cell = -1
  let watch = false
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const amount = ops[i + 1]!
    out.push(slot, amount)
    if (slot <= FRESH) {
      cell = amount
      watch = slot === headOf(vessel)
    } else if (watch && slot !== TOLERANCE && slot !== OLDER) {
      const at = 1000 * seconds[cell]!
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
