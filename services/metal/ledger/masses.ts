// Masses of all vessels before some of the pages. They are the same whatever is followed, so a sweep may
// begin at the first page that concerns it and needs nothing of those before.

import { FRESH, KEEP, OLDER, SET, UNKNOWN } from './op.ts'
import type { Pages } from './pages.ts'

/** Mass of a vessel before its first op: only there UNKNOWN means anything. */
export const UNTOUCHED = -1

/** By vessel. */
export interface Masses {
  /** As the book says: everything was kept, and nothing was there that nobody reported. */
  book: Float64Array
  /** Least and greatest, whatever KEEP kept and UNKNOWN held; least is UNTOUCHED at first. */
  least: Float64Array
  most: Float64Array
}

interface Kept extends Masses {
  /** By vessel and replicate, what errors of weighing put the book off by; absent until it was walked. */
  off?: Float32Array
}

/** Of so many pages one has its masses kept: a few bytes for half a megabyte of ops. */
const EVERY = 16

export class KeptMasses {
  readonly #pages: Pages
  /** Before pages 0, EVERY, 2 EVERY …, as far as anybody asked. */
  #kept: Kept[] = []

  constructor(pages: Pages) {
    this.#pages = pages
  }

  /** The last page at or before this one whose masses are kept, and a copy of them. */
  before(rank: number, vessels: number): { rank: number; masses: Masses } {
    const unchanged = this.#pages.takeChanged()
    this.#kept.length = Math.min(this.#kept.length, Math.floor(unchanged / EVERY) + 1)
    const k = Math.floor(rank / EVERY)
    if (this.#kept.length === 0) this.#kept.push(untouched(vessels))
    while (this.#kept.length <= k) {
      const from = EVERY * (this.#kept.length - 1)
      const masses = copied(this.#kept.at(-1)!, vessels)
      for (const { ops, end } of this.#pages.list.slice(from, from + EVERY)) {
        massesOver(masses, ops, end)
      }
      this.#kept.push(masses)
    }
    return { rank: k * EVERY, masses: copied(this.#kept[k]!, vessels) }
  }

  /** The same, as far as what the book is off by is kept too; for a page told by `before`. */
  offBefore(
    rank: number,
    vessels: number,
  ): { rank: number; book: Float64Array; off: Float32Array } {
    let k = rank / EVERY
    while (k > 0 && !this.#kept[k]!.off) k--
    const { book } = copied(this.#kept[k]!, vessels)
    return { rank: k * EVERY, book, off: this.#kept[k]!.off ?? new Float32Array(0) }
  }

  /** Keeps what the book is off by before a page, where its masses are kept. */
  keepOff(rank: number, off: () => Float32Array): void {
    const kept = rank % EVERY === 0 ? this.#kept[rank / EVERY] : undefined
    if (kept) kept.off ??= off()
  }
}

export function untouched(vessels: number): Masses {
  return {
    book: new Float64Array(vessels),
    least: new Float64Array(vessels).fill(UNTOUCHED),
    most: new Float64Array(vessels),
  }
}

// Vessels that came later have no cells before these pages.
function copied({ book, least, most }: Masses, vessels: number): Masses {
  const copy = untouched(vessels)
  copy.book.set(book)
  copy.least.set(least)
  copy.most.set(most)
  return copy
}

/** Runs masses through a page. */
function massesOver({ book, least, most }: Masses, ops: Int32Array, end: number): void {
  let M = 0
  let low = 0
  let high = 0
  let first = false
  let head = 0
  let vessel = -1
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      M = Math.max(0, M + g)
      low = Math.max(0, low + g)
      high = Math.max(0, high + g)
    } else if (slot <= FRESH) {
      if (vessel >= 0 && i - head > 2) {
        book[vessel] = M
        least[vessel] = low
        most[vessel] = high
      }
      head = i
      vessel = FRESH - 1 - slot
      M = vessel >= 0 ? book[vessel]! : 0
      low = vessel >= 0 ? least[vessel]! : 0
      high = vessel >= 0 ? most[vessel]! : 0
      first = low < 0 || vessel < 0
      if (low < 0) low = 0
    } else if (slot === SET) {
      M = g
      low = g
      high = g
    } else if (slot === KEEP) low = 0
    else if (slot === UNKNOWN) {
      if (first) high += g
    } else if (slot === OLDER) head = i
  }
  if (vessel >= 0 && end - head > 2) {
    book[vessel] = M
    least[vessel] = low
    most[vessel] = high
  }
}
