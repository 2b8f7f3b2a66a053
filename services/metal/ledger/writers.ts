// Which cell writes each slot: one, but for slots that a correction moved to another cell.

import { grown, trimmed } from './grow.ts'

const NOBODY = 0
const LEAF = -1

export class Writers {
  // The cell + 1, or one of the above.
  #first = new Int32Array(0)
  readonly #more = new Map<number, number[]>()
  /** Readers of slots that nobody writes yet. */
  readonly #waiting = new Map<number, number[]>()
  count = 0

  /** Numbers the next slot. */
  add(leaf: boolean): number {
    const slot = this.count++
    this.#first = grown(this.#first, this.count)
    this.#first[slot] = leaf ? LEAF : NOBODY
    return slot
  }

  isLeaf(slot: number): boolean {
    return this.#first[slot] === LEAF
  }

  /** False when this cell wrote the slot before. */
  note(slot: number, cell: number): boolean {
    const first = this.#first[slot]!
    if (first === NOBODY) this.#first[slot] = cell + 1
    else if (first === cell + 1) return false
    else {
      const more = this.#more.get(slot)
      if (more?.includes(cell)) return false
      if (more) more.push(cell)
      else this.#more.set(slot, [cell])
    }
    return true
  }

  each(slot: number, visit: (cell: number) => void): void {
    const first = this.#first[slot]!
    if (first <= 0) return
    visit(first - 1)
    if (this.#more.size > 0) for (const cell of this.#more.get(slot) ?? []) visit(cell)
  }

  /** True while a slot that is no leaf has no writer. */
  isOpen(slot: number): boolean {
    return this.#first[slot] === NOBODY
  }

  wait(slot: number, reader: number): void {
    const readers = this.#waiting.get(slot)
    if (readers === undefined) this.#waiting.set(slot, [reader])
    else if (readers.at(-1) !== reader) readers.push(reader)
  }

  /** Who read the slot before anybody wrote it; asked once. */
  takeWaiting(slot: number): number[] {
    const readers = this.#waiting.get(slot) ?? []
    this.#waiting.delete(slot)
    return readers
  }

  forgetWaiting(): void {
    this.#waiting.clear()
  }

  /** The same slots with nobody writing them. */
  blank(): Writers {
    const blank = new Writers()
    blank.#first = Int32Array.from(this.#first, (first) => (first === LEAF ? LEAF : NOBODY))
    blank.count = this.count
    return blank
  }

  compact(): void {
    this.#first = trimmed(this.#first, this.count)
  }
}
