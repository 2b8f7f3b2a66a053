// What every casting is, what it went through and where it ended.

/** Castings that nothing tells apart. */
export interface CastingGroup {
  pour: string
  product: string
  cavity: string
  castings: number
  /** The loads they went through, in order. */
  path: string[]
  /** The thing they stand in at the end; a lot where they were thrown in, `line` not yet shaken out. */
  place: string
  flaws: Flaw[]
}

export const FLAWS = ['misrun', 'pinhole', 'sand-inclusion', 'crack', 'blister', 'sticky'] as const
export type Flaw = (typeof FLAWS)[number]
const BIT = Object.fromEntries(FLAWS.map((flaw, i) => [flaw, 1 << i])) as Record<Flaw, number>

export class CastingTruth {
  readonly #units: { pour: string; product: string; cavity: string }[] = []
  readonly #unit: number[] = []
  readonly #flaws: number[] = []
  readonly #path: number[] = []
  readonly #place: number[] = []
  readonly #steps: { load: string; before: number }[] = [{ load: '', before: 0 }]
  readonly #places: string[] = ['line']
  readonly #placeNo = new Map<string, number>([['line', 0]])

  unit(pour: string, product: string, cavity: string): number {
    return this.#units.push({ pour, product, cavity }) - 1
  }

  cast(unit: number): number {
    this.#flaws.push(0)
    this.#path.push(0)
    this.#place.push(0)
    return this.#unit.push(unit) - 1
  }

  unitOf(casting: number): { pour: string; product: string; cavity: string } {
    return this.#units[this.#unit[casting]!]!
  }

  spoil(casting: number, flaw: Flaw): void {
    this.#flaws[casting]! |= BIT[flaw]
  }

  has(casting: number, flaw: Flaw): boolean {
    return (this.#flaws[casting]! & BIT[flaw]) !== 0
  }

  isSound(casting: number): boolean {
    return this.#flaws[casting] === 0
  }

  /** Strips the coat, and what was wrong with it. */
  mend(casting: number, flaw: Flaw): void {
    this.#flaws[casting]! &= ~BIT[flaw]
  }

  /** They go through a load, and stand in it. */
  handle(castings: readonly number[], load: string): void {
    const steps = new Map<number, number>()
    for (const casting of castings) {
      const before = this.#path[casting]!
      if (this.#steps[before]!.load === load) continue
      let step = steps.get(before)
      if (step === undefined) {
        step = this.#steps.push({ load, before }) - 1
        steps.set(before, step)
      }
      this.#path[casting] = step
    }
    this.put(castings, load)
  }

  put(castings: readonly number[], place: string): void {
    let no = this.#placeNo.get(place)
    if (no === undefined) {
      no = this.#places.push(place) - 1
      this.#placeNo.set(place, no)
    }
    for (const casting of castings) this.#place[casting] = no
  }

  placeOf(casting: number): string {
    return this.#places[this.#place[casting]!]!
  }

  get count(): number {
    return this.#unit.length
  }

  /** All castings ever made, in groups that nothing tells apart. */
  *groups(): Iterable<CastingGroup> {
    const groups = new Map<string, { casting: number; castings: number }>()
    for (let i = 0; i < this.#unit.length; i++) {
      const key = `${this.#unit[i]} ${this.#path[i]} ${this.#place[i]} ${this.#flaws[i]}`
      const group = groups.get(key)
      if (group) group.castings++
      else groups.set(key, { casting: i, castings: 1 })
    }
    for (const { casting, castings } of groups.values()) {
      yield {
        ...this.unitOf(casting),
        castings,
        path: this.#pathOf(casting),
        place: this.placeOf(casting),
        flaws: FLAWS.filter((flaw) => this.has(casting, flaw)),
      }
    }
  }

  #pathOf(casting: number): string[] {
    const path: string[] = []
    for (let step = this.#path[casting]!; step > 0; step = this.#steps[step]!.before) {
      path.push(this.#steps[step]!.load)
    }
    return path.reverse()
  }
}
