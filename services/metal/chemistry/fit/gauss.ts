// What is believed of some linked numbers: means and covariances, changed by mixing and by reading.
// Small and dense; what is no longer of use is dropped.

/** A number as it is believed: a normal distribution. */
export interface Belief {
  mean: number
  variance: number
}

/** Parts of a mix by key; weights need not add up to 1. */
export type Mix = readonly (readonly [key: number, weight: number])[]

export class Gauss {
  readonly #places = new Map<number, number>()
  readonly #keys: number[] = []
  readonly #means: number[] = []
  readonly #covariance: number[][] = []

  has(key: number): boolean {
    return this.#places.has(key)
  }

  keys(): readonly number[] {
    return this.#keys
  }

  belief(key: number): Belief {
    const place = this.#place(key)
    return { mean: this.#means[place]!, variance: this.#covariance[place]![place]! }
  }

  /** A new number; `around` makes it that one with `variance` of its own on top. */
  add(key: number, { mean, variance }: Belief, around?: number): void {
    if (around !== undefined) {
      this.mix(key, [[around, 1]], variance)
      return
    }
    this.#put(
      key,
      mean,
      this.#keys.map(() => 0),
      variance,
    )
  }

  /** What a mix would be. */
  peek(mix: Mix, variance = 0): Belief {
    const row = this.#row(mix)
    return {
      mean: mix.reduce((sum, [key, weight]) => sum + weight * this.#means[this.#place(key)]!, 0),
      variance: mix.reduce((sum, [key, weight]) => sum + weight * row[this.#place(key)]!, variance),
    }
  }

  /** Makes a number the mix of others, perhaps of itself as it was, with `variance` on top. */
  mix(key: number, mix: Mix, variance: number): void {
    const { mean, variance: own } = this.peek(mix, variance)
    this.#put(key, mean, this.#row(mix), own)
  }

  /** Learns from a reading of one number with an error of this variance. */
  read(key: number, value: number, error: number): void {
    const place = this.#place(key)
    const row = [...this.#covariance[place]!]
    const total = row[place]! + error
    const off = value - this.#means[place]!
    for (let i = 0; i < row.length; i++) {
      const gain = row[i]! / total
      this.#means[i]! += gain * off
      const own = this.#covariance[i]!
      for (let j = 0; j < row.length; j++) own[j]! -= gain * row[j]!
    }
  }

  /** Is less sure of a number than before. */
  doubt(key: number, variance: number): void {
    const place = this.#place(key)
    this.#covariance[place]![place]! += variance
  }

  drop(key: number): void {
    const place = this.#places.get(key)
    if (place === undefined) return
    const last = this.#keys.length - 1
    const moved = this.#keys[last]!
    this.#keys[place] = moved
    this.#means[place] = this.#means[last]!
    this.#covariance[place] = this.#covariance[last]!
    this.#keys.pop()
    this.#means.pop()
    this.#covariance.pop()
    for (const row of this.#covariance) {
      row[place] = row[last]!
      row.pop()
    }
    this.#places.set(moved, place)
    this.#places.delete(key)
  }

  #row(mix: Mix): number[] {
    const row = this.#keys.map(() => 0)
    for (const [key, weight] of mix) {
      const own = this.#covariance[this.#place(key)]!
      for (let i = 0; i < row.length; i++) row[i]! += weight * own[i]!
    }
    return row
  }

  #put(key: number, mean: number, row: number[], variance: number): void {
    let place = this.#places.get(key)
    if (place === undefined) {
      place = this.#keys.length
      this.#places.set(key, place)
      this.#keys.push(key)
      this.#covariance.push([])
    }
    row[place] = variance
    this.#means[place] = mean
    this.#covariance[place] = row
    for (let i = 0; i < row.length; i++) this.#covariance[i]![place] = row[i]!
  }

  #place(key: number): number {
    const place = this.#places.get(key)
    if (place === undefined) throw new Error(`nothing is believed of ${key}`)
    return place
  }
}
