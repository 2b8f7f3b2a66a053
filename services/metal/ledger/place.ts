// Keeps the cells in order while new ones come in late: a cell goes behind what it depends on and in
// front of what depends on it. Where those two overlap, what depends on it and stands in between moves
// behind, found by one walk over the stretch in between: since the stretch is in order, whatever
// depends on something marked is met after it.

import { vesselOf } from './op.ts'
import { blockEnd, type Page, type Pages } from './pages.ts'
import type { Parts } from './parts.ts'
import type { Versions } from './versions.ts'

/** What a new version asks of the order. */
export interface Demand {
  cell: number
  /** The cell's first version, not in the pool yet. */
  fresh: { since: number; block: Int32Array } | undefined
  /** Cells it depends on. */
  after: Set<number>
  /** Cells that depend on it. */
  before: Set<number>
  /** Slots it writes that others wrote already, whose readers nobody lists. */
  shared: Set<number>
}

/** Words that may yet be walked before sorting is cheaper. */
export interface Budget {
  words: number
}

/**
 * Brings the order in line with a demand and puts a fresh cell into the pages.
 * False where that takes a circle or too long a walk: then only sorting will do, and nothing has moved.
 */
export function settle(parts: Parts, demand: Demand, budget: Budget): boolean {
  const { pages, versions } = parts
  const { cell, fresh, after, before, shared } = demand
  const last = latest(pages, after)
  let first = earliest(pages, before)
  for (const slot of shared) {
    parts.writers.each(slot, (writer) => {
      if (writer !== cell) first = first === -1 || pages.isBefore(writer, first) ? writer : first
    })
  }
  const moves = !fresh && last !== -1 && pages.isBefore(cell, last)
  if (moves && (first === -1 || pages.isBefore(cell, first))) first = cell
  const stop = fresh || moves ? last : cell
  if (first === -1 || stop === -1 || pages.isBefore(stop, first)) {
    if (fresh) pages.insert(cell, fresh.since, fresh.block, gap(parts, cell, last, first))
    return true
  }
  const marked = dependents(parts, demand, first, stop, moves, budget)
  if (!marked) return false
  const next = pages.next(stop)
  if (fresh) pages.insert(cell, fresh.since, fresh.block, next)
  for (const moved of marked) {
    // `next` is behind the stretch, so it has not moved itself.
    pages.insert(moved, versions.since[moved]!, pages.take(moved), next)
  }
  return true
}

function latest(pages: Pages, cells: Iterable<number>): number {
  let last = -1
  for (const cell of cells) if (last === -1 || pages.isBefore(last, cell)) last = cell
  return last
}

function earliest(pages: Pages, cells: Iterable<number>): number {
  let first = -1
  for (const cell of cells) if (first === -1 || pages.isBefore(cell, first)) first = cell
  return first
}

// Where a cell goes that fits between `last` and `first`: in front of which cell, -1 for the end. Near
// its own time, so that the order stays close to the clock and late cells meet short stretches.
function gap({ pages, clock }: Parts, cell: number, last: number, first: number): number {
  if (last !== -1) {
    const end = pages.list.at(-1)!
    const newest = end.end > 0 && clock.at[cell]! >= clock.at[end.ops[1]!]!
    return first === -1 && newest ? -1 : pages.next(last)
  }
  if (first !== -1) return first
  for (const page of pages.list) {
    if (page.end > 0 && clock.at[page.ops[1]!]! > clock.at[cell]!) return page.ops[1]!
  }
  return -1
}

// The cells from `first` to `stop` that depend on the demanding one; it leads them when it moves.
// Undefined for a circle or a stretch too long.
function dependents(
  { pages, versions, clock }: Parts,
  { cell, after, before, shared }: Demand,
  first: number,
  stop: number,
  moves: boolean,
  budget: Budget,
): number[] | undefined {
  const marks: Marks = { writer: new Map(), vessels: new Set(), shared, compare: clock.compare }
  const marked = moves ? [cell] : []
  let page = pages.pageOf(first)
  let start = pages.startOf(first)
  for (;;) {
    const here = page.ops[start + 1]!
    const own = here === cell
    const depends = before.has(here) || isMarked(marks, versions, page, start)
    if (depends && (own || after.has(here))) return undefined
    if (depends || (own && moves)) mark(marks, versions, page, start)
    if (depends) marked.push(here)
    if (here === stop) return marked
    const end = blockEnd(page, start)
    budget.words -= end - start
    if (budget.words < 0) return undefined
    start = end
    while (start >= page.end) {
      page = pages.list[page.rank + 1]!
      start = 0
    }
  }
}

interface Marks {
  /** Slots that marked cells write, with the first of them by the clock. */
  writer: Map<number, number>
  vessels: Set<number>
  /** Slots whose readers are marked and whose writers are not. */
  shared: Set<number>
  compare: (a: number, b: number) => number
}

function isMarked(marks: Marks, versions: Versions, page: Page, start: number): boolean {
  const { writer, vessels, shared, compare } = marks
  if (vessels.has(vesselOf(page.ops[start]!))) return true
  const here = page.ops[start + 1]!
  let met = false
  versions.eachOp(page, start, 'all', (slot, amount) => {
    if (slot <= 0 || met) return
    const by = writer.get(slot)
    if (amount > 0) met = shared.has(slot) || (by !== undefined && by !== here)
    else met = by !== undefined && compare(by, here) < 0
  })
  return met
}

function mark(
  { writer, vessels, compare }: Marks,
  versions: Versions,
  page: Page,
  start: number,
): void {
  const vessel = vesselOf(page.ops[start]!)
  if (vessel >= 0) vessels.add(vessel)
  const here = page.ops[start + 1]!
  versions.eachOp(page, start, 'all', (slot, amount) => {
    if (slot <= 0 || amount >= 0) return
    const by = writer.get(slot)
    if (by === undefined || compare(here, by) < 0) writer.set(slot, here)
  })
}
