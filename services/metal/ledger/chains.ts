// The cells of each vessel in their order, all chains in one array.

import { grown, trimmed } from './grow.ts'

export class Chains {
  #pool = new Int32Array(0)
  #used = 0
  #start = new Int32Array(0)
  #size = new Int32Array(0)
  #room = new Int32Array(0)
  count = 0

  add(): number {
    const vessel = this.count++
    this.#start = grown(this.#start, this.count)
    this.#size = grown(this.#size, this.count)
    this.#room = grown(this.#room, this.count)
    return vessel
  }

  /** Puts a cell into its place and returns its neighbours, -1 for none. */
  insert(
    vessel: number,
    cell: number,
    compare: (a: number, b: number) => number,
  ): { before: number; after: number } {
    this.push(vessel, cell)
    const start = this.#start[vessel]!
    const last = start + this.#size[vessel]! - 1
    let low = start
    let high = last
    while (low < high) {
      const middle = (low + high) >> 1
      if (compare(this.#pool[middle]!, cell) < 0) low = middle + 1
      else high = middle
    }
    this.#pool.copyWithin(low + 1, low, last)
    this.#pool[low] = cell
    return {
      before: low > start ? this.#pool[low - 1]! : -1,
      after: low < last ? this.#pool[low + 1]! : -1,
    }
  }

  /** Puts a cell at the end; `sort` brings it to its place. */
  push(vessel: number, cell: number): void {
    const size = this.#size[vessel]!
    if (size === this.#room[vessel]!) this.#move(vessel, size + (size >> 2) + 2)
    this.#pool[this.#start[vessel]! + size] = cell
    this.#size[vessel] = size + 1
  }

  sort(compare: (a: number, b: number) => number): void {
    for (let vessel = 0; vessel < this.count; vessel++) {
      const cells = this.of(vessel)
      let k = 1
      while (k < cells.length && compare(cells[k - 1]!, cells[k]!) < 0) k++
      if (k < cells.length) cells.sort(compare)
    }
  }

  /** The cells of a vessel, a view to read at once. */
  of(vessel: number): Int32Array {
    const start = this.#start[vessel]!
    return this.#pool.subarray(start, start + this.#size[vessel]!)
  }

  compact(): void {
    const [pool, start] = [this.#pool, this.#start]
    this.#start = trimmed(start, this.count)
    this.#size = trimmed(this.#size, this.count)
    this.#room = this.#size.map((size) => size + (size >> 5) + 1)
    this.#pool = new Int32Array(this.#room.reduce((sum, room) => sum + room, 0))
    this.#used = 0
    for (let vessel = 0; vessel < this.count; vessel++) {
      const from = start[vessel]!
      this.#pool.set(pool.subarray(from, from + this.#size[vessel]!), this.#used)
      this.#start[vessel] = this.#used
      this.#used += this.#room[vessel]!
    }
  }

  // To the end of the pool, with room to grow; what it leaves is won back by `compact`.
  #move(vessel: number, room: number): void {
    this.#pool = grown(this.#pool, this.#used + room)
    const start = this.#start[vessel]!
    this.#pool.copyWithin(this.#used, start, start + this.#size[vessel]!)
    this.#start[vessel] = this.#used
    this.#room[vessel] = room
    this.#used += room
  }
}
