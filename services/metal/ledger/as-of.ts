// Pages as they stood at an earlier moment of recorded time: the same cells in the same order, each in
// its newest version since then, so that a sweep needs to know nothing of versions.

import { blockEnd, type Page } from './pages.ts'
import { NONE, type Versions } from './versions.ts'

export class AsOf {
  readonly #versions: Versions
  readonly #asOf: number
  #words = new Int32Array(0)
  #end = 0

  constructor(versions: Versions, asOf: number) {
    this.#versions = versions
    this.#asOf = asOf
  }

  /** The page as it stood; good until the next one is asked for. */
  page(page: Page): { ops: Int32Array; end: number } {
    if (page.newest <= this.#asOf) return page
    const { since } = this.#versions
    this.#end = 0
    let same = 0
    for (let i = 0; i < page.end; ) {
      const end = blockEnd(page, i)
      if (since[page.ops[i + 1]!]! > this.#asOf) {
        this.#copy(page.ops, same, i)
        this.#copyOlder(page, i)
        same = end
      }
      i = end
    }
    this.#copy(page.ops, same, page.end)
    return { ops: this.#words, end: this.#end }
  }

  /** One block of a page as it stood; good until the next one is asked for. */
  block(page: Page, start: number): { ops: Int32Array; end: number } {
    this.#end = 0
    if (this.#versions.since[page.ops[start + 1]!]! <= this.#asOf) {
      this.#copy(page.ops, start, blockEnd(page, start))
    } else this.#copyOlder(page, start)
    return { ops: this.#words, end: this.#end }
  }

  #copyOlder(page: Page, start: number): void {
    const { past } = this.#versions
    const record = this.#versions.versionAt(page, start, this.#asOf)
    if (record === NONE) return
    this.#copy(page.ops, start, start + 2)
    this.#copy(past.words, past.from(record), past.to(record))
  }

  // Blocks are short: a loop beats making a view and handing it over.
  #copy(from: Int32Array, start: number, end: number): void {
    if (this.#end + end - start > this.#words.length) {
      const wider = new Int32Array(2 * (this.#end + end - start))
      wider.set(this.#words.subarray(0, this.#end))
      this.#words = wider
    }
    const words = this.#words
    let at = this.#end
    for (let i = start; i < end; i++) words[at++] = from[i]!
    this.#end = at
  }
}
