// A world in which time passes only when nothing else is left to do, and chance comes from a seed: the
// same seed, the same world, to the last step. What is in it waits on its clock and on nothing else.
import { setImmediate as breathe } from 'node:timers/promises'

interface Due {
  at: number
  /** Of those due at the same moment the one asked for first comes first. */
  order: number
  run: () => void
}

const BEGIN = Date.UTC(2026, 2, 3)

export class World {
  readonly seed: number
  /** Unit: ms since 1970. */
  now = BEGIN
  /** Things that have happened. */
  steps = 0
  readonly #due: Due[] = []
  #order = 0
  #state: number

  constructor(seed: number) {
    this.seed = seed
    this.#state = (seed * 2_654_435_769) >>> 0
    // Neighbouring seeds must not begin alike.
    for (let i = 0; i < 8; i++) this.random()
  }

  /** Unit: ms since the beginning. */
  get elapsedMs(): number {
    return this.now - BEGIN
  }

  /** From 0 up to 1; the generator mulberry32, written down from memory. */
  random(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0
    let mixed = this.#state
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32
  }

  chance(of: number): boolean {
    return this.random() < of
  }

  between(least: number, most: number): number {
    return least + this.random() * (most - least)
  }

  /** A whole number up to `most`, which is included. */
  whole(least: number, most: number): number {
    return least + Math.floor(this.random() * (most - least + 1))
  }

  pick<T>(from: readonly T[]): T {
    return from[this.whole(0, from.length - 1)]!
  }

  shuffled<T>(list: readonly T[]): T[] {
    const left = list.slice()
    return Array.from(list, () => left.splice(this.whole(0, left.length - 1), 1)[0]!)
  }

  /** Runs something after a while. */
  later(afterMs: number, run: () => void): void {
    this.#push({ at: this.now + Math.max(0, afterMs), order: this.#order++, run })
  }

  pause(ms: number): Promise<void> {
    return new Promise((done) => this.later(ms, done))
  }

  /** Lets things happen until `done` says so or the moment has come; answers whether it was done. */
  async run(untilMs: number, done: () => boolean): Promise<boolean> {
    await breathe()
    while (!done()) {
      const next = this.#due[0]
      if (!next || next.at > untilMs) return false
      this.#pop()
      this.now = Math.max(this.now, next.at)
      this.steps++
      next.run()
      await breathe()
    }
    return true
  }

  #push(due: Due): void {
    const heap = this.#due
    let at = heap.push(due) - 1
    while (at > 0) {
      const above = (at - 1) >> 1
      if (before(heap[above]!, due)) break
      heap[at] = heap[above]!
      at = above
    }
    heap[at] = due
  }

  #pop(): void {
    const heap = this.#due
    const last = heap.pop()!
    if (heap.length === 0) return
    let at = 0
    for (let child = 1; child < heap.length; child = 2 * at + 1) {
      if (child + 1 < heap.length && before(heap[child + 1]!, heap[child]!)) child++
      if (before(last, heap[child]!)) break
      heap[at] = heap[child]!
      at = child
    }
    heap[at] = last
  }
}

function before(one: Due, other: Due): boolean {
  return one.at < other.at || (one.at === other.at && one.order < other.order)
}

/** The world that is running: what stands in for parts of Node has no other way to it. */
let running: World | undefined

export function world(): World {
  if (!running) throw new Error('No world is running.')
  return running
}

/** Runs `work` in a world; chance that the program takes from Node comes from it meanwhile. */
export async function inWorld<T>(made: World, work: () => Promise<T>): Promise<T> {
  const chance = Math.random
  running = made
  Math.random = () => made.random()
  try {
    return await work()
  } finally {
    Math.random = chance
    running = undefined
  }
}

/** A process, from its start to its end: what one that is dead was about to do never happens. */
export class Life {
  alive = true
  /** It does nothing before. Unit: ms since 1970. */
  frozenUntil = 0
  readonly #world: World
  readonly #mourners: (() => void)[] = []

  constructor(made: World) {
    this.#world = made
  }

  /** Resolves after some time, unless it is dead by then. */
  act(leastMs: number, mostMs: number): Promise<void> {
    return new Promise((done) => {
      const due = () => {
        if (!this.alive) return
        const stillMs = this.frozenUntil - this.#world.now
        if (stillMs > 0) this.#world.later(stillMs, due)
        else done()
      }
      this.#world.later(this.#world.between(leastMs, mostMs), due)
    })
  }

  kill(): void {
    this.alive = false
    for (const mourn of this.#mourners.splice(0)) mourn()
  }

  onDeath(mourn: () => void): void {
    this.#mourners.push(mourn)
  }
}
