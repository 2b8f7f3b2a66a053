// Who shares luck with whom: of each row, the groups it is in and with which part. What luck does to the
// log odds of rows is a sum over their groups, and nothing of the size of rows squared is ever written down.
import type { Looked } from './likelihood.ts'
import type { Grouping } from './noise.ts'

/** Groups of one row: columns `column[i]` with parts `part[i]`, for i from `start[r]` to `start[r + 1]`. */
export interface Shared {
  rows: number
  start: Int32Array
  column: Int32Array
  part: Float64Array
  /** By column, the grouping it is of; −1 for a stratum. */
  of: Int32Array
}

/** Strata are groups too, of a luck that may be anything. */
export function sharedBy({ stratum, strata }: Looked, groupings: readonly Grouping[]): Shared {
  const rows = stratum.length
  const of = new Array<number>(strata).fill(-1)
  const first = groupings.map(({ groups }, g) => {
    const column = of.length
    for (let c = 0; c < groups; c++) of.push(g)
    return column
  })
  const start = new Int32Array(rows + 1)
  const column: number[] = []
  const part: number[] = []
  const parts = new Float64Array(of.length)
  for (let r = 0; r < rows; r++) {
    column.push(stratum[r]!)
    part.push(1)
    for (const [g, { atoms, codes }] of groupings.entries()) {
      const from = column.length
      for (let i = atoms.start[r]!; i < atoms.start[r + 1]!; i++) {
        if (codes[i]! < 0) continue
        const at = first[g]! + codes[i]!
        if (parts[at] === 0) column.push(at)
        parts[at]! += atoms.part[i]!
      }
      for (let i = from; i < column.length; i++) {
        part.push(parts[column[i]!]!)
        parts[column[i]!] = 0
      }
    }
    start[r + 1] = column.length
  }
  return {
    rows,
    start,
    column: Int32Array.from(column),
    part: Float64Array.from(part),
    of: Int32Array.from(of),
  }
}

/** The covariance K of the log odds of rows, and systems with it. */
export class Covariance {
  readonly #start: Int32Array
  readonly #column: Int32Array
  /** Parts times the standard deviation of the group's luck: K is this times its transpose. */
  readonly #by: Float64Array
  readonly #sums: Float64Array
  readonly #own: Float64Array

  /** `variance` of a column; columns without any are left out. */
  constructor({ rows, start, column, part }: Shared, variance: Float64Array) {
    const number = new Int32Array(variance.length)
    let columns = 0
    for (let c = 0; c < variance.length; c++) number[c] = variance[c]! > 0 ? columns++ : -1
    this.#start = new Int32Array(rows + 1)
    this.#column = new Int32Array(column.length)
    this.#by = new Float64Array(column.length)
    this.#own = new Float64Array(rows)
    let kept = 0
    for (let r = 0; r < rows; r++) {
      for (let i = start[r]!; i < start[r + 1]!; i++) {
        if (number[column[i]!]! < 0) continue
        this.#column[kept] = number[column[i]!]!
        this.#by[kept] = part[i]! * Math.sqrt(variance[column[i]!]!)
        this.#own[r]! += this.#by[kept]! ** 2
        kept++
      }
      this.#start[r + 1] = kept
    }
    this.#sums = new Float64Array(columns)
  }

  /** K·v. */
  times(v: Float64Array, into: Float64Array): Float64Array {
    const [start, column, by] = [this.#start, this.#column, this.#by]
    const sums = this.#sums.fill(0)
    for (let r = 0; r < v.length; r++) {
      const one = v[r]!
      for (let i = start[r]!; i < start[r + 1]!; i++) sums[column[i]!]! += by[i]! * one
    }
    for (let r = 0; r < v.length; r++) {
      let sum = 0
      for (let i = start[r]!; i < start[r + 1]!; i++) sum += by[i]! * sums[column[i]!]!
      into[r] = sum
    }
    return into
  }

  /**
   * (W⁻¹ + K)⁻¹·v by conjugate gradients from a first guess, W the squares of `root`, none of them 0.
   * What is solved is (1 + √W·K·√W)·y = √W·v, each row weighed by its own entry.
   */
  solve(root: Float64Array, v: Float64Array, guess: Float64Array): Float64Array {
    const rows = v.length
    const own = this.#own.map((each, r) => 1 / (1 + each * root[r]! ** 2))
    const image = new Float64Array(rows)
    const scaled = new Float64Array(rows)
    const times = (y: Float64Array) => {
      for (let r = 0; r < rows; r++) scaled[r] = root[r]! * y[r]!
      this.times(scaled, image)
      for (let r = 0; r < rows; r++) image[r] = y[r]! + root[r]! * image[r]!
    }
    // Of what hardly weighs a guess would be blown up beyond all digits.
    const y = guess.map((each, r) => (root[r]! > LEAST_ROOT ? each / root[r]! : 0))
    const rest = new Float64Array(rows)
    const direction = new Float64Array(rows)
    times(y)
    let [size, whole] = [0, 0]
    for (let r = 0; r < rows; r++) {
      const wanted = root[r]! * v[r]!
      rest[r] = wanted - image[r]!
      direction[r] = own[r]! * rest[r]!
      whole += own[r]! * wanted * wanted
      size += rest[r]! * direction[r]!
    }
    for (let step = 0; step < STEPS && size > PRECISE ** 2 * whole; step++) {
      times(direction)
      const far = size / dot(direction, image)
      let next = 0
      for (let r = 0; r < rows; r++) {
        y[r]! += far * direction[r]!
        rest[r]! -= far * image[r]!
        next += own[r]! * rest[r]! * rest[r]!
      }
      for (let r = 0; r < rows; r++)
        direction[r] = own[r]! * rest[r]! + (next / size) * direction[r]!
      size = next
    }
    for (let r = 0; r < rows; r++) y[r]! *= root[r]!
    return y
  }
}
const LEAST_ROOT = 1e-6
const STEPS = 100
const PRECISE = 2e-3

export function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!
  return sum
}
