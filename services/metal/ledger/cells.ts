// The cells of a ledger and the order they are worked out in, kept up as versions come in.

import { AsOf } from './as-of.ts'
import { packed } from './block.ts'
import { Chains } from './chains.ts'
import { Clock } from './clock.ts'
import { demanded, dependencies, noteWrites } from './depend.ts'
import { grown } from './grow.ts'
import { KeptMasses, type Masses, untouched } from './masses.ts'
import { type Order, sortCells } from './order.ts'
import { type Page, Pages } from './pages.ts'
import type { Parts } from './parts.ts'
import { type Demand, settle } from './place.ts'
import { Versions } from './versions.ts'
import { Writers } from './writers.ts'

/** Cells in order, to sweep; with `patch` each page is to be read as it stood then. */
export interface View {
  pages: Page[]
  patch: number | undefined
  /** Cells whose links against time were left out. */
  late: number[]
}

/** A view that begins at a page, and the masses there; without a rank it begins with nothing. */
export interface Begun extends View {
  rank: number | undefined
  masses: Masses
}

const NOW = Number.POSITIVE_INFINITY

export class Cells {
  readonly clock = new Clock()
  readonly chains = new Chains()
  readonly writers = new Writers()
  readonly #pages = new Pages()
  readonly #versions = new Versions(this.#pages)
  readonly #masses = new KeptMasses(this.#pages)
  readonly #parts: Parts = {
    clock: this.clock,
    chains: this.chains,
    writers: this.writers,
    pages: this.#pages,
    versions: this.#versions,
  }
  /** Vessels of cells not written yet. */
  readonly #vessels = new Map<number, number>()
  /** No version is in force since a later moment. */
  #newest = Number.NEGATIVE_INFINITY
  #sorted = false
  readonly #budget = { words: 0 }
  /** Whether the order holds for every version, or only for the newest of each cell. */
  #forAll = false
  #late: number[] = []
  #circular = new Set<number>()
  #then: { asOf: number; view: View } | undefined

  add(at: number, tie: string | number, vessel: number | undefined): number {
    const cell = this.clock.add(at, tie)
    if (vessel !== undefined) this.#vessels.set(cell, vessel)
    return cell
  }

  /** A new version of a cell. Throws RangeError where it makes no sense, and then has changed nothing. */
  write(cell: number, since: number, ops: number[]): void {
    const { clock, chains, writers } = this
    const [pages, versions] = [this.#pages, this.#versions]
    if (!(cell < clock.count)) throw new RangeError(`no cell: ${cell}`)
    const fresh = !pages.has(cell)
    const vessel = fresh ? (this.#vessels.get(cell) ?? -1) : pages.vesselOf(cell)
    const block = packed(writers, cell, vessel, ops)
    const newest = fresh || since >= versions.since[cell]!
    const tame = this.#sorted && (this.#forAll || fresh || !newest || this.#keepsTo(cell, block))
    if (!fresh && !versions.follow(cell, since, block)) return
    this.#newest = Math.max(this.#newest, since)
    this.#then = undefined
    if (fresh) {
      this.#vessels.delete(cell)
      versions.begin(cell, since)
    }
    if (tame) {
      const demand = demanded(this.#parts, cell, block)
      if (fresh) {
        demand.fresh = { since, block }
        if (vessel >= 0) this.#join(demand, vessel)
      }
      if (this.#settled(demand, newest)) return
    } else {
      noteWrites(writers, cell, block)
      if (fresh && vessel >= 0) chains.push(vessel, cell)
    }
    this.#sorted = false
    if (fresh) pages.append(cell, since, block)
  }

  /** Since when each version of a cell was in force, newest first. */
  sinces(cell: number): number[] {
    return this.#pages.has(cell) ? this.#versions.sinces(cell) : []
  }

  /** The cells as they stood at a moment of recorded time. */
  view(asOf = NOW): View {
    this.#sort()
    const pages = this.#pages.list
    if (asOf >= this.#newest) return { pages, patch: undefined, late: this.#late }
    if (this.#forAll) return { pages, patch: asOf, late: [] }
    if (this.#then?.asOf !== asOf) this.#then = { asOf, view: this.#laidOut(asOf) }
    return this.#then.view
  }

  /** Pages up to the last where one of these slots is written: from behind it nothing passes back. */
  upTo(slots: Iterable<number>, view: View): View {
    if (view.pages !== this.#pages.list) return view
    let last = -1
    for (const slot of slots) {
      this.writers.each(slot, (cell) => {
        last = Math.max(last, this.#pages.pageOf(cell).rank)
      })
    }
    return { ...view, pages: view.pages.slice(0, last + 1) }
  }

  /**
   * The pages from the first that concerns a sweep, or from a few before it, and the masses they begin
   * with. `skip` is asked for each page in its order and says whether it can be left out.
   */
  from(view: View, skip: (ops: Int32Array, end: number) => boolean): Begun {
    const { count } = this.chains
    if (view.pages !== this.#pages.list || view.patch !== undefined) {
      return { ...view, rank: undefined, masses: untouched(count) }
    }
    const first = view.pages.findIndex(({ ops, end }) => !skip(ops, end))
    const last = first === -1 ? view.pages.length : first
    const { rank, masses } = this.#masses.before(last, count)
    return { ...view, pages: view.pages.slice(rank), rank, masses }
  }

  /** The pages from where on errors of weighing must be followed to know them where `view` begins. */
  doubted(view: Begun): { view: View; book: Float64Array; off: Float32Array } {
    const { count } = this.chains
    if (view.rank === undefined)
      return { view, book: untouched(count).book, off: new Float32Array(0) }
    const { rank, book, off } = this.#masses.offBefore(view.rank, count)
    return { view: { ...view, pages: this.#pages.list.slice(rank) }, book, off }
  }

  /**
   * Keeps what books are off by before a page of a view of now, where nothing has been followed yet: from there
   * on noise depends on the question, and no answer may depend on what was asked before.
   */
  keepOff(view: Begun, page: Page, off: () => Float32Array): void {
    if (view.rank !== undefined && page.rank <= view.rank) this.#masses.keepOff(page.rank, off)
  }

  each(
    view: View,
    visit: (ops: Int32Array, end: number, page: Page) => void,
    way?: 'backwards',
  ): void {
    const { pages, patch } = view
    const then = patch === undefined ? undefined : new AsOf(this.#versions, patch)
    for (let k = 0; k < pages.length; k++) {
      const page = pages[way ? pages.length - 1 - k : k]!
      const { ops, end } = then ? then.page(page) : page
      visit(ops, end, page)
    }
  }

  compact(): void {
    this.#sort()
    const { count } = this.clock
    this.#pages.lay(this.#pages.cells(), this.#versions.since)
    this.#pages.compact(count)
    this.#versions.compact(count)
    this.clock.compact()
    this.chains.compact()
    this.writers.compact()
  }

  // Where no one order holds for every version, an earlier moment is sorted by itself.
  #laidOut(asOf: number): View {
    const order = this.#order(asOf)
    const then = new AsOf(this.#versions, asOf)
    const { page, start } = this.#pages.places()
    let ops = new Int32Array(this.#pages.words())
    let end = 0
    for (const cell of order.cells) {
      if (!this.#pages.has(cell)) continue
      const block = then.block(this.#pages.list[page[cell]!]!, start[cell]!)
      ops = grown(ops, end + block.end)
      ops.set(block.ops.subarray(0, block.end), end)
      end += block.end
    }
    const all: Page = { ops, end, rank: 0, number: 0, newest: asOf }
    return { pages: [all], patch: undefined, late: this.#acting(order, asOf) }
  }

  #sort(): void {
    if (this.#sorted) return
    this.chains.sort(this.clock.compare)
    this.writers.forgetWaiting()
    const all = this.#order('all')
    this.#forAll = all.late.length === 0
    const now = this.#forAll || this.#versions.past.isEmpty ? all : this.#order(NOW)
    this.#pages.lay(now.cells, this.#versions.since)
    this.#late = this.#acting(now, NOW)
    this.#circular = now.circular
    this.#sorted = true
    this.#budget.words = this.#pages.words()
  }

  #order(asOf: number | 'all'): Order {
    const { clock } = this
    const links = dependencies(this.#parts, asOf)
    return sortCells(clock.cells(), clock.count, links, clock.compare, clock.at)
  }

  // Of the cells whose links were left out those that did anything at all then.
  #acting(order: Order, asOf: number): number[] {
    return [...new Set(order.late)].filter((cell) => {
      let acts = false
      this.#eachOp(cell, asOf, (slot) => {
        acts ||= slot >= 0
      })
      return acts
    })
  }

  // Into the chain of its vessel: behind one neighbour and in front of the other.
  #join(demand: Demand, vessel: number): void {
    const { before, after } = this.chains.insert(vessel, demand.cell, this.clock.compare)
    if (before >= 0) demand.after.add(before)
    if (after >= 0) demand.before.add(after)
  }

  // Brings the order in line with a version; false where only sorting will do.
  #settled(demand: Demand, newest: boolean): boolean {
    if (!this.#forAll) {
      if (!newest) return true
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
    const read = new Set<number>()
    const written = new Set<number>()
    this.#eachOp(cell, NOW, (slot, amount) => {
      if (amount > 0) read.add(slot)
      else written.add(slot)
    })
    for (let i = 2; i < block.length; i += 2) {
      const slot = block[i]!
      if (slot <= 0) continue
      if (block[i + 1]! > 0) {
        if (circles && !read.has(slot)) return false
      } else if (!written.has(slot) && !this.writers.isOpen(slot)) return false
    }
    return true
  }

  #eachOp(cell: number, asOf: number, visit: (slot: number, amount: number) => void): void {
    const page = this.#pages.pageOf(cell)
    this.#versions.eachOp(page, this.#pages.startOf(cell), asOf, visit)
  }
}
