// Systems with the covariance of rows, by conjugate gradients. What makes those slow are few groups with many
// rows each, such as strata, machines and days: they are solved for outright in every step.
import { type Covariance, dot } from './shared.ts'

/** (W⁻¹ + K)·x = v, W the squares of `root`, none of them 0; solved as (1 + √W·K·√W)·y = √W·v. */
export class System {
  readonly #covariance: Covariance
  readonly #root: Float64Array
  /** Of each row, one over what is left of the diagonal without wide groups. */
  readonly #own: Float64Array
  /** Of wide groups: the triangle L whose L·Lᵀ is what they see of each other. */
  readonly #triangle: Float64Array
  readonly #sums: Float64Array
  readonly #scaled: Float64Array

  constructor(covariance: Covariance, root: Float64Array) {
    this.#covariance = covariance
    this.#root = root
    this.#own = covariance.narrow.map((each, r) => 1 / (1 + each * root[r]! ** 2))
    this.#triangle = triangleOf(this.#seen(), covariance.wide.columns)
    this.#sums = new Float64Array(covariance.wide.columns)
    this.#scaled = new Float64Array(root.length)
  }

  /** x, from a first guess. */
  solve(v: Float64Array, guess: Float64Array): Float64Array {
    const root = this.#root
    const rows = root.length
    const image = new Float64Array(rows)
    // Of what hardly weighs a guess would be blown up beyond all digits.
    const y = guess.map((each, r) => (root[r]! > LEAST_ROOT ? each / root[r]! : 0))
    const wanted = v.map((each, r) => root[r]! * each)
    const nearly = this.#nearly(wanted, new Float64Array(rows))
    const enough = PRECISE ** 2 * dot(wanted, nearly)
    this.#times(y, image)
    const rest = wanted.map((each, r) => each - image[r]!)
    const direction = this.#nearly(rest, new Float64Array(rows))
    let size = dot(rest, direction)
    for (let step = 0; step < STEPS && size > enough; step++) {
      this.#times(direction, image)
      const far = size / dot(direction, image)
      for (let r = 0; r < rows; r++) {
        y[r]! += far * direction[r]!
        rest[r]! -= far * image[r]!
      }
      this.#nearly(rest, nearly)
      const next = dot(rest, nearly)
      for (let r = 0; r < rows; r++) direction[r] = nearly[r]! + (next / size) * direction[r]!
      size = next
    }
    for (let r = 0; r < rows; r++) y[r]! *= root[r]!
    return y
  }

  /** (1 + √W·K·√W)·y. */
  #times(y: Float64Array, into: Float64Array): void {
    const [root, scaled] = [this.#root, this.#scaled]
    for (let r = 0; r < y.length; r++) scaled[r] = root[r]! * y[r]!
    this.#covariance.times(scaled, into)
    for (let r = 0; r < y.length; r++) into[r] = y[r]! + root[r]! * into[r]!
  }

  /** What solves the same with all but wide groups seen by their own rows alone. */
  #nearly(v: Float64Array, into: Float64Array): Float64Array {
    const sums = this.#sums.fill(0)
    this.#addUp(v, sums)
    solveTriangle(this.#triangle, sums)
    this.#spread(v, sums, into)
    return into
  }

  // In functions of their own: what follows a long loop would be compiled anew in every call.

  #addUp(v: Float64Array, sums: Float64Array): void {
    const [root, own] = [this.#root, this.#own]
    const { start, column, by } = this.#covariance.wide
    for (let r = 0; r < v.length; r++) {
      const one = root[r]! * own[r]! * v[r]!
      for (let i = start[r]!; i < start[r + 1]!; i++) sums[column[i]!]! += by[i]! * one
    }
  }

  #spread(v: Float64Array, sums: Float64Array, into: Float64Array): void {
    const [root, own] = [this.#root, this.#own]
    const { start, column, by } = this.#covariance.wide
    for (let r = 0; r < v.length; r++) {
      let sum = 0
      for (let i = start[r]!; i < start[r + 1]!; i++) sum += by[i]! * sums[column[i]!]!
      into[r] = own[r]! * (v[r]! - root[r]! * sum)
    }
  }

  /** How wide groups see each other, by columns, in the lower half. */
  #seen(): Float64Array {
    const [root, own] = [this.#root, this.#own]
    const { start, column, by, columns } = this.#covariance.wide
    const seen = new Float64Array(columns * columns)
    for (let c = 0; c < columns; c++) seen[c * columns + c] = 1
    for (let r = 0; r < root.length; r++) {
      const weight = root[r]! ** 2 * own[r]!
      for (let i = start[r]!; i < start[r + 1]!; i++) {
        const one = weight * by[i]!
        for (let j = start[r]!; j <= i; j++) {
          const [a, b] = [column[i]!, column[j]!]
          seen[a > b ? a * columns + b : b * columns + a]! += one * by[j]!
        }
      }
    }
    return seen
  }
}
const LEAST_ROOT = 1e-6
const STEPS = 100
const PRECISE = 2e-3

/** Cholesky's triangle of a matrix of which the lower half is given, in its place. */
function triangleOf(a: Float64Array, n: number): Float64Array {
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let sum = a[i * n + j]!
      for (let k = 0; k < j; k++) sum -= a[i * n + k]! * a[j * n + k]!
      a[i * n + j] = i === j ? Math.sqrt(sum) : sum / a[j * n + j]!
    }
  return a
}

/** What L·Lᵀ takes to v, in the place of v. */
function solveTriangle(l: Float64Array, v: Float64Array): void {
  const n = v.length
  for (let i = 0; i < n; i++) {
    let sum = v[i]!
    for (let j = 0; j < i; j++) sum -= l[i * n + j]! * v[j]!
    v[i] = sum / l[i * n + i]!
  }
  for (let i = n - 1; i >= 0; i--) {
    const one = v[i]! / l[i * n + i]!
    v[i] = one
    for (let j = 0; j < i; j++) v[j]! -= l[i * n + j]! * one
  }
}
