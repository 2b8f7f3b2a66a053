// How much of what is in what, computed and never stored: slots hold one composition each, cells are
// what one vessel did in one go. Used for metal (grams) and again for castings (thousandths).

import { backwardPage, massPage, type Notes, type Return } from './ledger/backward.ts'
import { type Begun, Cells } from './ledger/cells.ts'
import { Doubt, type DoubtSweep } from './ledger/doubt.ts'
import { forwardPage, type LeanSweep, leanPage, reads } from './ledger/forward.ts'
import { type Likely, likelyShares } from './ledger/likely-shares.ts'
import { UNTOUCHED } from './ledger/masses.ts'
import {
  BEST,
  concerns,
  GAP,
  HIGH,
  holdsAny,
  LANES,
  LOW,
  PERHAPS,
  type SpanSweep,
  spanPage,
} from './ledger/span.ts'
import { type Level, watched } from './ledger/watch.ts'
import { type Ops, UNRECORDED } from './ledger/writing.ts'

export type { Likely } from './ledger/likely-shares.ts'

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
  /** Values that stand in these slots whatever is written into them. */
  force?: Iterable<[slot: number, value: number]>
  /** Cells in which all that the vessel holds counts as followed, and goes on so. */
  flood?: Iterable<number>
  /** Follow what is unrecorded: it counts 1 in cells at or after `from`, 0 before. Unit: ms. */
  gaps?: { from: number }
  /** An array of an earlier sweep of this ledger that nobody reads any more. */
  into?: Float64Array | undefined
}

export interface Follow {
  asOf?: number
  /** Cells in which all that the vessel holds counts as followed, and goes on so. */
  flood?: Iterable<number>
  /** From when on unrecorded stuff could be what is followed; absent where it never could. Unit: ms. */
  gapsFrom?: number | undefined
  /** Slots that could be all of what is followed, whatever is known of them. */
  perhaps?: readonly number[]
  /** By seed, how much of what it holds counts; absent, all of it. */
  worth?: ReadonlyMap<number, Worth> | undefined
  /** Whether to work out as well how far weighing leaves shares in doubt. */
  doubt?: boolean
}

/** A part of what a slot holds, 0 to 1: best, and the least and the most it can be. */
export interface Worth {
  best: number
  low: number
  high: number
}

const WHOLE: Worth = { best: 1, low: 1, high: 1 }

/** The share of the followed stuff in one slot. */
export interface Span {
  best: number
  /** The least and the most it can be, whatever KEEP kept and UNKNOWN held. */
  low: number
  high: number
  /** The most that is unrecorded and could be it. */
  gap: number
  /** Standard deviation of `best` by errors of weighing; 0 where that was not asked. */
  spread: number
  /** Where the doubt was asked. */
  likely?: Likely
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

export class Ledger {
  readonly #cells = new Cells()
  /** Kept from one `follow` to the next: taking so much memory anew costs more than the walk. */
  #spans = new Float64Array(0)
  #doubt: Doubt | undefined

  constructor() {
    this.leaf()
  }

  /** A new slot: holds one composition, written by one cell. */
  slot(): number {
    return this.#cells.writers.add(false)
  }

  /** A new leaf slot: seeded, never written. */
  leaf(): number {
    return this.#cells.writers.add(true)
  }

  /** A new lasting vessel. */
  vessel(): number {
    return this.#cells.chains.add()
  }

  /** A new cell: what one vessel did in one go. */
  cell({ at, tie, vessel }: CellKey): number {
    return this.#cells.add(at, tie, vessel)
  }

  /**
   * A new version of a cell, in force from `since`; an empty list takes the cell out. Of two versions
   * since one moment the one written later stands.
   * Throws RangeError for an op that makes no sense: such come from code, not from reports.
   */
  write(cell: number, since: number, ops: Ops): void {
    this.#cells.write(cell, since, ops)
  }

  /** Since when each version of a cell was in force, newest first. */
  sinces(cell: number): number[] {
    return this.#cells.sinces(cell)
  }

  /** Followed share of every slot, by slot. Seeds on leaves and UNRECORDED; on others they force. */
  forward(seeds: Iterable<[slot: number, value: number]>, how: Forward = {}): Float64Array {
    return this.#swept(seeds, how).share
  }

  /**
   * What holds nothing but the followed stuff is told by `seeds`, leaves or not. Returns how to read any
   * slot; good until the next `follow`.
   */
  follow(seeds: readonly number[], how: Follow = {}): (slot: number) => Span {
    const { writers, chains, clock } = this.#cells
    const { gapsFrom } = how
    const size = LANES * writers.count
    if (this.#spans.length < size) this.#spans = new Float64Array(size + (size >> 5))
    const share = this.#spans.fill(0, 0, size)
    const pinned = new Uint8Array(writers.count)
    if (gapsFrom !== undefined) {
      for (let slot = 1; slot < writers.count; slot++) {
        if (!writers.isLeaf(slot)) share[LANES * slot + GAP] = Number.NaN
      }
      share[GAP] = Number.NaN
    }
    for (const slot of seeds) {
      pinned[slot] = 1
      const { best, low, high } = how.worth?.get(slot) ?? WHOLE
      share.set([best, low, high, 0], LANES * slot)
    }
    for (const slot of how.perhaps ?? []) if (pinned[slot] === 0) pinned[slot] = PERHAPS
    const from = gapsFrom === undefined ? Number.POSITIVE_INFINITY : Math.floor(gapsFrom / 1000)
    const flood = how.flood && marked(how.flood, clock.count)
    const view = this.#cells.from(
      this.#cells.view(how.asOf),
      (ops, end) => !concerns({ share, pinned, at: clock.at, from, flood }, ops, end),
    )
    const sweep: SpanSweep = {
      share,
      pinned,
      held: new Float64Array(LANES * chains.count),
      passed: new Float64Array(2 * chains.count),
      full: new Float64Array(2 * chains.count),
      peak: new Float64Array(2 * chains.count),
      masses: view.masses,
      at: clock.at,
      from,
      flood,
    }
    this.#cells.each(view, (ops, end) => spanPage(sweep, ops, end))
    const likely = how.doubt
      ? likelyShares(this.#cells, { asOf: how.asOf, rank: view.rank ?? 0 }, sweep)
      : undefined
    const spread = how.doubt ? this.#doubted(view, sweep) : undefined
    return (slot) => {
      const s = LANES * slot
      const gap = share[s + GAP]!
      return {
        best: share[s + BEST]!,
        low: share[s + LOW]!,
        high: share[s + HIGH]!,
        gap: Number.isNaN(gap) ? 1 : gap,
        spread: spread?.[slot] ?? 0,
        ...(likely && { likely: likely(slot) }),
      }
    }
  }

  /** Spreads by slot, from the shares that a span left. */
  #doubted(begun: Begun, { share, pinned, flood }: SpanSweep): Float32Array {
    const cells = this.#cells
    const { clock, writers } = cells
    const { view: all, book, off } = cells.doubted(begun)
    // Behind the last page that holds any of what is followed no share is in doubt.
    const last = all.pages.findLastIndex((page) => holdsAny(share, page))
    const view = all.patch === undefined ? { ...all, pages: all.pages.slice(0, last + 1) } : all
    const spread = new Float32Array(writers.count)
    this.#doubt ??= new Doubt()
    const doubt = this.#doubt
    doubt.begin({ slots: writers.count, vessels: book.length, off }, (visit) =>
      cells.each(view, visit),
    )
    const sweep: DoubtSweep = { share, stride: LANES, pinned, flood, mass: book, clock, spread }
    cells.each(view, (ops, end, page) => {
      cells.keepOff(begun, page, () => doubt.off())
      doubt.page(sweep, ops, end)
    })
    return spread
  }

  /** Where weighted slots came from: the transpose of `forward`. */
  backward(weights: Iterable<[slot: number, weight: number]>, how: Backward = {}): Origins {
    const { writers, chains, clock } = this.#cells
    const asked = [...weights]
    const view = this.#cells.upTo(
      asked.map(([slot]) => slot),
      this.#cells.view(how.asOf),
    )
    const mass = new Float64Array(chains.count)
    // Room for what most plants need; it grows where it does not do.
    const room = view.pages.reduce((words, page) => words + page.end, 0) >> 3
    const notes: Notes = {
      mass: new Float64Array(room),
      masses: 0,
      head: new Int32Array(room),
      heads: 0,
    }
    this.#cells.each(view, (ops, end) => massPage(mass, notes, ops, end))
    const back: Return = {
      rest: new Float64Array(writers.count),
      through: new Float64Array(writers.count),
      held: new Float64Array(chains.count),
      mass,
      notes,
      cut: typeof how.without === 'object' ? marked(how.without, clock.count) : undefined,
      carry: how.without !== 'carry',
    }
    const { rest, through } = back
    for (const [slot, weight] of asked) rest[slot]! += weight
    this.#cells.each(view, (ops, end) => backwardPage(back, ops, end), 'backwards')
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
  levels(
    vessel: number,
    seeds: Iterable<[slot: number, value: number]>,
    how: Forward = {},
  ): Level[] {
    const levels: Level[] = []
    const { seen } = this.#swept(seeds, how, { vessel, levels })
    for (const [k, level] of levels.entries()) {
      level.mass = seen.mass[k]!
      level.share = seen.share[k]!
    }
    return levels
  }

  /** Cells that stand in a circle of clocks and whose links against time were left out. */
  circles(asOf?: number): number[] {
    return this.#cells.view(asOf).late
  }

  /** Gives back what growing took in advance; worth it after a long load. */
  compact(): void {
    this.#cells.compact()
  }

  #swept(
    seeds: Iterable<[number, number]>,
    how: Forward,
    look?: { vessel: number; levels: Level[] },
  ): LeanSweep {
    const { writers, chains, clock } = this.#cells
    const view = this.#cells.view(how.asOf)
    const share =
      how.into?.length === writers.count ? how.into.fill(0) : new Float64Array(writers.count)
    const sweep: LeanSweep = {
      share,
      held: new Float64Array(chains.count),
      mass: new Float64Array(chains.count),
      most: new Float64Array(chains.count),
      passed: new Float64Array(chains.count),
      full: new Float64Array(chains.count),
      peak: new Float64Array(chains.count),
      lean: how.lean === 'low' ? -1 : how.lean === 'high' ? 1 : 0,
      unrecorded: 0,
      at: clock.at,
      from: how.gaps && Math.floor(how.gaps.from / 1000),
      forced: undefined,
      force: new Map(how.force),
      flood: how.flood && marked(how.flood, clock.count),
      seen: { share: [], mass: [] },
    }
    for (const [slot, value] of seeds) {
      if (slot === UNRECORDED) sweep.unrecorded = value
      else if (writers.isLeaf(slot)) share[slot] = value
      else if (!sweep.force.has(slot)) sweep.force.set(slot, value)
    }
    const follows = sweep.from !== undefined || sweep.unrecorded !== 0
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
    if (look) {
      sweep.mass.fill(UNTOUCHED)
      this.#cells.each(view, (page, length) => {
        const ops = watched(page, length, look, clock.at)
        leanPage(sweep, ops, ops.length)
      })
    } else if (follows || sweep.flood || sweep.lean !== 0) {
      sweep.mass.fill(UNTOUCHED)
      this.#cells.each(view, (ops, end) => leanPage(sweep, ops, end))
    } else {
      const seeded = new Uint8Array(share.length)
      for (const slot of sweep.force.keys()) seeded[slot] = 1
      for (const [slot] of seeds) seeded[slot] = 1
      const rest = this.#cells.from(view, (ops, end) => !reads(seeded, ops, end))
      sweep.mass = rest.masses.book
      this.#cells.each(rest, (ops, end) => forwardPage(sweep, ops, end))
    }
    if (follows) {
      const nobody = sweep.from === undefined ? sweep.unrecorded : 1
      for (let slot = 0; slot < share.length; slot++) {
        if (Number.isNaN(share[slot])) share[slot] = nobody
      }
    }
    return sweep
  }
}

function marked(cells: Iterable<number>, count: number): Uint8Array {
  const marks = new Uint8Array(count)
  for (const cell of cells) marks[cell] = 1
  return marks
}
