/** Ranges of mold numbers, found by a number in them. */
export class Numbered<T extends { first: number; last: number }> {
  readonly #all = new Set<T>()
  #byFirst: T[] = []
  /** Greatest last up to each place. */
  #reach: number[] = []
  #stale = false

  get size(): number {
    return this.#all.size
  }

  add(range: T): void {
    this.#all.add(range)
    this.#stale = true
  }

  delete(range: T): void {
    this.#all.delete(range)
    this.#stale = true
  }

  [Symbol.iterator](): Iterator<T> {
    return this.#all[Symbol.iterator]()
  }

  /** All that share a number with the range. */
  overlapping({ first, last }: { first: number; last: number }): T[] {
    if (this.#stale) this.#sort()
    const found: T[] = []
    for (let i = this.#upTo(last) - 1; i >= 0 && this.#reach[i]! >= first; i--) {
      if (this.#byFirst[i]!.last >= first) found.push(this.#byFirst[i]!)
    }
    return found
  }

  #sort(): void {
    this.#byFirst = [...this.#all].sort((a, b) => a.first - b.first || a.last - b.last)
    this.#reach = []
    let reach = Number.NEGATIVE_INFINITY
    for (const { last } of this.#byFirst) {
      reach = Math.max(reach, last)
      this.#reach.push(reach)
    }
    this.#stale = false
  }

  /** How many begin at or before a number. */
  #upTo(number: number): number {
    let [low, high] = [0, this.#byFirst.length]
    while (low < high) {
      const middle = (low + high) >>> 1
      if (this.#byFirst[middle]!.first <= number) low = middle + 1
      else high = middle
    }
    return low
  }
}
