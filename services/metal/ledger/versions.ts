// Which version of a cell was in force when. The newest stands in its page, the ones before it in the
// past, each linked to the one before.

import { grown, trimmed } from './grow.ts'
import { OLDER } from './op.ts'
import { blockEnd, type Page, type Pages } from './pages.ts'
import { Past } from './past.ts'

export const NEWEST = -1
export const NONE = 0

export class Versions {
  readonly past = new Past()
  /** By cell: since when its newest version is in force. */
  since = new Float64Array(0)
  readonly #pages: Pages

  constructor(pages: Pages) {
    this.#pages = pages
  }

  /** Notes since when a cell's first version is in force. */
  begin(cell: number, since: number): void {
    this.since = grown(this.since, cell + 1)
    this.since[cell] = since
  }

  /** Adds a version to a cell that has one. False when it was there already. */
  follow(cell: number, since: number, block: Int32Array): boolean {
    const page = this.#pages.pageOf(cell)
    const start = this.#pages.startOf(cell)
    const newest = this.since[cell]!
    const ops = page.ops.slice(firstOp(page, start), blockEnd(page, start))
    const said = block.subarray(2)
    if (since < newest) return this.#insert(cell, page, start, since, said)
    if (since === newest && isSame(ops, said)) return false
    const older = olderOf(page, start)
    this.since[cell] = since
    this.#put(cell, since === newest ? older : this.past.add(newest, older, ops), said, block)
    return true
  }

  #insert(cell: number, page: Page, start: number, since: number, said: Int32Array): boolean {
    const { past } = this
    let later = NONE
    let record = olderOf(page, start)
    while (record !== NONE && past.since(record) > since) {
      later = record
      record = past.older(record)
    }
    const replaced = record !== NONE && past.since(record) === since
    if (replaced && isSame(past.opsOf(record), said)) return false
    const before = replaced ? past.older(record) : record
    const made = past.add(since, before, said)
    if (later !== NONE) past.setOlder(later, made)
    else {
      const ops = page.ops.slice(firstOp(page, start), blockEnd(page, start))
      this.#put(cell, made, ops, page.ops.subarray(start))
    }
    return true
  }

  #put(cell: number, older: number, ops: Int32Array, head: Int32Array): void {
    const link = older === NONE ? 0 : 2
    const block = new Int32Array(2 + link + ops.length)
    block.set(head.subarray(0, 2))
    if (link) block.set([OLDER, older], 2)
    block.set(ops, 2 + link)
    this.#pages.replace(cell, this.since[cell]!, block)
  }

  /** Since when each version of a cell was in force, newest first. */
  sinces(cell: number): number[] {
    const found = [this.since[cell]!]
    let record = olderOf(this.#pages.pageOf(cell), this.#pages.startOf(cell))
    for (; record !== NONE; record = this.past.older(record)) found.push(this.past.since(record))
    return found
  }

  /**
   * Which version of the block at `start` was in force: NEWEST, NONE, or its record in the past.
   */
  versionAt(page: Page, start: number, asOf: number): number {
    if (this.since[page.ops[start + 1]!]! <= asOf) return NEWEST
    let record = olderOf(page, start)
    while (record !== NONE && this.past.since(record) > asOf) record = this.past.older(record)
    return record
  }

  /** Calls `visit` with the pairs of one version of the block at `start`, of every one for 'all'. */
  eachOp(
    page: Page,
    start: number,
    asOf: number | 'all',
    visit: (slot: number, amount: number) => void,
  ): void {
    const { past } = this
    let record = asOf === 'all' ? NEWEST : this.versionAt(page, start, asOf)
    if (record === NEWEST) {
      eachPair(page.ops, start + 2, blockEnd(page, start), visit)
      if (asOf !== 'all') return
      record = olderOf(page, start)
    }
    while (record !== NONE) {
      eachPair(past.words, past.from(record), past.to(record), visit)
      record = asOf === 'all' ? past.older(record) : NONE
    }
  }

  compact(count: number): void {
    this.since = trimmed(this.since, count)
    this.past.compact()
  }
}

/** Record of the version before the block at `start`, NONE if it is the first. */
export function olderOf(page: Page, start: number): number {
  return start + 2 < page.end && page.ops[start + 2] === OLDER ? page.ops[start + 3]! : NONE
}

function eachPair(
  ops: Int32Array,
  from: number,
  to: number,
  visit: (slot: number, amount: number) => void,
): void {
  for (let i = from; i < to; i += 2) visit(ops[i]!, ops[i + 1]!)
}

function firstOp(page: Page, start: number): number {
  return olderOf(page, start) === NONE ? start + 2 : start + 4
}

function isSame(a: Int32Array, b: Int32Array): boolean {
  return a.length === b.length && a.every((word, i) => word === b[i])
}
