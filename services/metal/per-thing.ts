/**
 * What is worked out of the facts about each thing: anew only for things of which something else is said, and
 * for whatever else was worked out from those.
 */
export class PerThing<V> {
  readonly #workOut: (no: number) => V | undefined
  readonly #readers: (no: number) => Iterable<number>
  readonly #known = new Map<number, V>()
  readonly #stirred = new Set<number>()

  constructor(
    workOut: (no: number) => V | undefined,
    readers: (no: number) => Iterable<number> = () => [],
  ) {
    this.#workOut = workOut
    this.#readers = readers
  }

  /** Something else is said of it than when it was looked at last. */
  stir(no: number): void {
    this.#stirred.add(no)
  }

  all(): ReadonlyMap<number, V> {
    // Readers that are added meanwhile come up in the same walk.
    for (const no of this.#stirred) {
      for (const reader of this.#readers(no)) this.#stirred.add(reader)
      const value = this.#workOut(no)
      if (value === undefined) this.#known.delete(no)
      else this.#known.set(no, value)
    }
    this.#stirred.clear()
    return this.#known
  }
}
