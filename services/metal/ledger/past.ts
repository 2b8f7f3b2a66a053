// Versions that another has followed, each with the one before it.

import { grown, trimmed } from './grow.ts'

// A record: length, record before (0 for none), since (a number of 64 bits), then the ops.
const HEADER = 4

export class Past {
  #words: Int32Array = new Int32Array(HEADER)
  #since: Float64Array = new Float64Array(this.#words.buffer)
  #used = HEADER

  get isEmpty(): boolean {
    return this.#used === HEADER
  }

  get words(): Int32Array {
    return this.#words
  }

  /** Keeps a copy of ops and returns where; always above 0. */
  add(since: number, older: number, ops: Int32Array): number {
    const record = this.#used
    this.#used += HEADER + ops.length
    this.#take(grown(this.#words, this.#used))
    this.#words[record] = ops.length
    this.#words[record + 1] = older
    this.#since[(record + 2) >> 1] = since
    this.#words.set(ops, record + HEADER)
    return record
  }

  since(record: number): number {
    return this.#since[(record + 2) >> 1]!
  }

  older(record: number): number {
    return this.#words[record + 1]!
  }

  setOlder(record: number, older: number): void {
    this.#words[record + 1] = older
  }

  /** A view to read at once. */
  opsOf(record: number): Int32Array {
    return this.#words.subarray(this.from(record), this.to(record))
  }

  /** First word of a record's ops in `words`. */
  from(record: number): number {
    return record + HEADER
  }

  /** Word after the last of a record's ops. */
  to(record: number): number {
    return record + HEADER + this.#words[record]!
  }

  compact(): void {
    this.#take(trimmed(this.#words, this.#used))
  }

  #take(words: Int32Array): void {
    if (words === this.#words) return
    this.#words = words
    this.#since = new Float64Array(words.buffer)
  }
}
