/** Hands out what waits in it, the least first; what is added twice waits once. */
export class Queue<T> {
  readonly #compare: (a: T, b: T) => number
  readonly #waiting = new Set<T>()
  readonly #heap: T[] = []

  constructor(compare: (a: T, b: T) => number) {
    this.#compare = compare
  }

  add(one: T): void {
    if (this.#waiting.has(one)) return
    this.#waiting.add(one)
    const heap = this.#heap
    let i = heap.push(one) - 1
    while (i > 0) {
      const above = (i - 1) >> 1
      if (this.#compare(heap[above]!, one) <= 0) break
      heap[i] = heap[above]!
      i = above
    }
    heap[i] = one
  }

  take(): T | undefined {
    const heap = this.#heap
    const first = heap[0]
    const last = heap.pop()
    if (first === undefined || last === undefined) return undefined
    this.#waiting.delete(first)
    if (heap.length > 0) this.#sink(last)
    return first
  }

  #sink(one: T): void {
    const heap = this.#heap
    let i = 0
    for (;;) {
      let next = 2 * i + 1
      if (next >= heap.length) break
      if (next + 1 < heap.length && this.#compare(heap[next + 1]!, heap[next]!) < 0) next++
      if (this.#compare(heap[next]!, one) >= 0) break
      heap[i] = heap[next]!
      i = next
    }
    heap[i] = one
  }
}
