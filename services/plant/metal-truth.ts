// Every movement of metal, in the order it happened: what the whole record can only guess at.

export class MetalTruth {
  readonly #names: string[] = []
  readonly #nodes = new Map<string, number>()
  readonly #mass: number[] = []
  readonly #received: number[] = []
  readonly #from: number[] = []
  readonly #into: number[] = []
  readonly #kg: number[] = []
  /** Mass of the taking body after each movement. */
  readonly #after: number[] = []

  /** A body of metal, or of oil; named by its thing where it has one. */
  node(name: string): number {
    let node = this.#nodes.get(name)
    if (node === undefined) {
      node = this.#names.push(name) - 1
      this.#nodes.set(name, node)
      this.#mass.push(0)
      this.#received.push(0)
    }
    return node
  }

  receive(node: number, kg: number): void {
    this.#mass[node]! += kg
    this.#received[node]! += kg
  }

  flow(from: number, into: number, kg: number): void {
    this.#mass[from]! -= kg
    this.#mass[into]! += kg
    this.#from.push(from)
    this.#into.push(into)
    this.#kg.push(kg)
    this.#after.push(this.#mass[into]!)
  }

  /** Lots as received: whatever everything else is made of. */
  *lots(): Iterable<{ lot: string; kg: number }> {
    for (let node = 0; node < this.#names.length; node++) {
      if (this.#received[node]! > 0) yield { lot: this.#names[node]!, kg: this.#received[node]! }
    }
  }

  /** Metal that a body still holds. Unit: kg. */
  held(): Iterable<[thing: string, kg: number]> {
    return this.#names.map((name, node) => [name, this.#mass[node]!])
  }

  /** Part of a lot in everything metal went into, by thing; of one that changes, at the end. */
  sharesOf(lot: string): Map<string, number> {
    const share = new Float64Array(this.#names.length)
    const followed = this.#nodes.get(lot)
    if (followed === undefined) return new Map()
    share[followed] = 1
    for (let i = 0; i < this.#kg.length; i++) {
      const into = this.#into[i]!
      if (into === followed || this.#after[i]! <= 0) continue
      const part = Math.min(1, this.#kg[i]! / this.#after[i]!)
      share[into]! += part * (share[this.#from[i]!]! - share[into]!)
    }
    const found = new Map<string, number>()
    share.forEach((part, node) => {
      if (part > 0) found.set(this.#names[node]!, part)
    })
    return found
  }

  /** Received lots a thing is made of, and the part of each; together 1. */
  lotsOf(thing: string): Map<string, number> {
    const weight = new Float64Array(this.#names.length)
    const start = this.#nodes.get(thing)
    const found = new Map<string, number>()
    if (start === undefined) return found
    weight[start] = 1
    for (let i = this.#kg.length - 1; i >= 0; i--) {
      const into = this.#into[i]!
      if (weight[into] === 0 || this.#after[i]! <= 0) continue
      const part = Math.min(1, this.#kg[i]! / this.#after[i]!) * weight[into]!
      weight[into]! -= part
      weight[this.#from[i]!]! += part
    }
    weight.forEach((part, node) => {
      if (part > 0 && this.#received[node]! > 0) found.set(this.#names[node]!, part)
    })
    return found
  }

  /** Part of a lot in a pour, charge, ladle or collected lot. */
  shareOf(thing: string, lot: string): number {
    return this.sharesOf(lot).get(thing) ?? 0
  }
}
