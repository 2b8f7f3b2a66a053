// Time in the foundry. What people and machines do is written as processes: generators that yield
// how long they are busy, or a bell they wait for. One queue runs them all, so whatever happens is
// caused by what happened before it.

export const MINUTE = 60_000
export const HOUR = 60 * MINUTE
export const DAY = 24 * HOUR

/** Yields milliseconds to wait, or a bell to wait for. */
export type Process = Generator<number | Bell, void, void>

export class Clock {
  now: number
  #heap: Entry[] = []
  #entered = 0

  constructor(start: number) {
    this.now = start
  }

  at(ms: number, act: () => void): void {
    enter(this.#heap, { at: Math.max(ms, this.now), order: this.#entered++, act })
  }

  start(process: Process): void {
    this.at(this.now, () => this.#go(process))
  }

  /** Runs until nothing is left to do. */
  run(): void {
    for (let next = leave(this.#heap); next; next = leave(this.#heap)) {
      this.now = next.at
      next.act()
    }
  }

  #go(process: Process): void {
    const { done, value } = process.next()
    if (done) return
    const again = () => this.#go(process)
    if (typeof value === 'number') this.at(this.now + value, again)
    else value.waiting.push(() => this.at(this.now, again))
  }
}

/** Wakes whoever waits for it. */
export class Bell {
  readonly waiting: (() => void)[] = []

  ring(): void {
    for (const wake of this.waiting.splice(0)) wake()
  }
}

/** A place where things wait their turn. */
export class Rack<T> {
  readonly things: T[] = []
  readonly bell = new Bell()

  put(thing: T): void {
    this.things.push(thing)
    this.bell.ring()
  }
}

interface Entry {
  at: number
  order: number
  act: () => void
}

function before(a: Entry, b: Entry): boolean {
  return a.at < b.at || (a.at === b.at && a.order < b.order)
}

function enter(heap: Entry[], entry: Entry): void {
  let at = heap.push(entry) - 1
  while (at > 0) {
    const above = (at - 1) >> 1
    if (!before(entry, heap[above]!)) break
    heap[at] = heap[above]!
    at = above
  }
  heap[at] = entry
}

function leave(heap: Entry[]): Entry | undefined {
  const first = heap[0]
  const last = heap.pop()
  if (!first || heap.length === 0) return first
  let at = 0
  for (;;) {
    let below = 2 * at + 1
    if (below >= heap.length) break
    if (below + 1 < heap.length && before(heap[below + 1]!, heap[below]!)) below++
    if (!before(heap[below]!, last!)) break
    heap[at] = heap[below]!
    at = below
  }
  heap[at] = last!
  return first
}
