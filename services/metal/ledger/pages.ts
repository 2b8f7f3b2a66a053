// Where the ops are: the cells in their order, each a block of pairs beginning with its head, in pages
// of a size that a late cell can be squeezed into in microseconds. A sweep reads pages from end to end
// and nothing else.

import { grown, resized, trimmed } from './grow.ts'
import { FRESH, vesselOf } from './op.ts'

/** Cells that follow one another. */
export interface Page {
  ops: Int32Array
  /** Words in use. */
  end: number
  /** Place among the pages. */
  rank: number
  /** Stays when the rank changes. */
  number: number
  /** No cell in it has a version since a later moment. */
  newest: number
}

// 32 KB: a page stays in the first cache while it is swept and while it is split.
const PAGE_WORDS = 8192

export class Pages {
  /** In order. */
  list: Page[] = []
  #byNumber: (Page | undefined)[] = [undefined]
  /** By cell; 0 while it has no version. Two bytes until a ledger needs more pages than that. */
  #page: Uint16Array | Int32Array = new Uint16Array(0)
  #firstChanged = 0

  has(cell: number): boolean {
    return cell < this.#page.length && this.#page[cell] !== 0
  }

  pageOf(cell: number): Page {
    return this.#byNumber[this.#page[cell]!]!
  }

  /** Rank of the first page that changed since this was asked last; Infinity for none. */
  takeChanged(): number {
    const first = this.#firstChanged
    this.#firstChanged = Number.POSITIVE_INFINITY
    return first
  }

  /** First word of the cell's block in its page. */
  startOf(cell: number): number {
    const { ops, end } = this.pageOf(cell)
    for (let i = 0; i < end; i += 2) if (ops[i]! <= FRESH && ops[i + 1] === cell) return i
    throw new Error(`cell ${cell} is not in its page`)
  }

  vesselOf(cell: number): number {
    return vesselOf(this.pageOf(cell).ops[this.startOf(cell)]!)
  }

  isBefore(a: number, b: number): boolean {
    const [x, y] = [this.pageOf(a), this.pageOf(b)]
    return x === y ? this.startOf(a) < this.startOf(b) : x.rank < y.rank
  }

  /** Puts the first version of a cell at the end. */
  append(cell: number, since: number, block: Int32Array): void {
    this.#page = grown(this.#page, cell + 1)
    let page = this.list.at(-1)
    if (!page || page.end + block.length > PAGE_WORDS) {
      const room = this.list.length === 0 ? 4 * block.length : PAGE_WORDS
      page = this.#newPage(new Int32Array(room), this.list.length)
    }
    this.#open(page, page.end, block, since)
  }

  /** Puts a block of a cell in front of another cell's, or at the end for -1. */
  insert(cell: number, since: number, block: Int32Array, before: number): void {
    if (before === -1) this.append(cell, since, block)
    else {
      this.#page = grown(this.#page, cell + 1)
      this.#open(this.pageOf(before), this.startOf(before), block, since)
    }
  }

  /** Puts another block in the place of a cell's. */
  replace(cell: number, since: number, block: Int32Array): void {
    const page = this.pageOf(cell)
    const start = this.startOf(cell)
    this.#close(page, start)
    this.#open(page, start, block, since)
  }

  /** Takes a cell's block out and returns it. */
  take(cell: number): Int32Array {
    const page = this.pageOf(cell)
    const start = this.startOf(cell)
    const block = page.ops.slice(start, blockEnd(page, start))
    this.#close(page, start)
    this.#page[cell] = 0
    return block
  }

  /** The cell after this one, -1 for none. */
  next(cell: number): number {
    const page = this.pageOf(cell)
    const end = blockEnd(page, this.startOf(cell))
    if (end < page.end) return page.ops[end + 1]!
    for (let rank = page.rank + 1; rank < this.list.length; rank++) {
      const after = this.list[rank]!
      if (after.end > 0) return after.ops[1]!
    }
    return -1
  }

  /** Lays all cells anew in this order, pages full. */
  lay(cells: Int32Array, since: Float64Array): void {
    const { page, start } = this.places()
    const old = this.list
    this.list = []
    this.#byNumber = [undefined]
    this.#firstChanged = 0
    const words = new Int32Array(PAGE_WORDS)
    let used = 0
    let fresh: number[] = []
    let newest = Number.NEGATIVE_INFINITY
    const turn = () => {
      if (used === 0) return
      const made = this.#newPage(words.slice(0, used), this.list.length)
      made.end = used
      made.newest = newest
      for (const cell of fresh) this.#page[cell] = made.number
      used = 0
      fresh = []
      newest = Number.NEGATIVE_INFINITY
    }
    for (const cell of cells) {
      if (!this.has(cell)) continue
      const from = old[page[cell]!]!
      const end = blockEnd(from, start[cell]!)
      const length = end - start[cell]!
      if (used + length > PAGE_WORDS) turn()
      newest = Math.max(newest, since[cell]!)
      if (length > PAGE_WORDS) {
        const made = this.#newPage(from.ops.slice(start[cell]!, end), this.list.length)
        made.end = length
        made.newest = newest
        this.#page[cell] = made.number
        newest = Number.NEGATIVE_INFINITY
        continue
      }
      for (let i = start[cell]!; i < end; i++) words[used++] = from.ops[i]!
      fresh.push(cell)
    }
    turn()
  }

  /** Every cell, in order. */
  cells(): Int32Array {
    const cells: number[] = []
    for (const { ops, end } of this.list) {
      for (let i = 0; i < end; i += 2) if (ops[i]! <= FRESH) cells.push(ops[i + 1]!)
    }
    return Int32Array.from(cells)
  }

  /** Words in use. */
  words(): number {
    return this.list.reduce((sum, page) => sum + page.end, 0)
  }

  /** By cell: rank of its page and first word in it; for walks over everything. */
  places(): { page: Int32Array; start: Int32Array } {
    const page = new Int32Array(this.#page.length)
    const start = new Int32Array(this.#page.length)
    for (const { ops, end, rank } of this.list) {
      for (let i = 0; i < end; i += 2) {
        if (ops[i]! > FRESH) continue
        page[ops[i + 1]!] = rank
        start[ops[i + 1]!] = i
      }
    }
    return { page, start }
  }

  compact(count: number): void {
    this.#page = trimmed(this.#page, count)
  }

  #newPage(ops: Int32Array, rank: number): Page {
    const page = { ops, end: 0, rank, number: this.#byNumber.length, newest: -Infinity }
    this.#byNumber.push(page)
    if (page.number > 0xffff && this.#page instanceof Uint16Array) {
      this.#page = Int32Array.from(this.#page)
    }
    this.list.splice(rank, 0, page)
    for (let r = rank + 1; r < this.list.length; r++) this.list[r]!.rank = r
    return page
  }

  // Makes room for a block and writes it; a page that would grow too long is split first.
  #open(page: Page, start: number, block: Int32Array, since: number): void {
    const { length } = block
    this.#firstChanged = Math.min(this.#firstChanged, page.rank)
    if (page.end > 0 && page.end + length > PAGE_WORDS) {
      const middle = boundary(page)
      if (middle === 0) {
        const alone = this.#newPage(new Int32Array(length), page.rank + (start === 0 ? 0 : 1))
        this.#open(alone, 0, block, since)
      } else {
        const right = this.#split(page, middle)
        if (start <= middle) this.#open(page, start, block, since)
        else this.#open(right, start - middle, block, since)
      }
      return
    }
    if (page.end + length > page.ops.length) {
      page.ops = resized(page.ops, Math.max(page.end + length, Math.ceil(1.25 * page.ops.length)))
    }
    page.ops.copyWithin(start + length, start, page.end)
    page.ops.set(block, start)
    page.end += length
    page.newest = Math.max(page.newest, since)
    this.#page[block[1]!] = page.number
  }

  #split(page: Page, middle: number): Page {
    const right = this.#newPage(page.ops.slice(middle, page.end), page.rank + 1)
    right.end = page.end - middle
    right.newest = page.newest
    page.end = middle
    for (let i = 0; i < right.end; i += 2) {
      if (right.ops[i]! <= FRESH) this.#page[right.ops[i + 1]!] = right.number
    }
    return right
  }

  #close(page: Page, start: number): void {
    const end = blockEnd(page, start)
    this.#firstChanged = Math.min(this.#firstChanged, page.rank)
    page.ops.copyWithin(start, end, page.end)
    page.end -= end - start
  }
}

// The head nearest behind the middle of a page, else the last one; 0 where one block fills the page.
function boundary(page: Page): number {
  let last = 0
  for (let i = 0; i < page.end; i += 2) {
    if (page.ops[i]! > FRESH) continue
    last = i
    if (i >= page.end / 2) break
  }
  return last
}

/** Word after the last of the block that begins at `start`. */
export function blockEnd(page: { ops: Int32Array; end: number }, start: number): number {
  let i = start + 2
  while (i < page.end && page.ops[i]! > FRESH) i += 2
  return i
}
