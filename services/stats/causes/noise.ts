// How much heats, sand, loads and hours differ from each other without any cause that has a name, and
// how much of that a candidate's exposure carries into its effect. This keeps clustered defects from
// crying out for whatever happened to run at that time.
import type { Looked } from './likelihood.ts'

/**
 * Castings that share their luck: row r is in the groups `group[i]` with parts `part[i]`, in each once, for i from
 * `start[r]` to `start[r + 1]`.
 */
export interface Grouping {
  start: Int32Array
  group: Int32Array
  part: Float64Array
  groups: number
}

/** A group's surprise is cut off at so many times the upper quartile: a cause is not noise. */
const CUT = 7
/** Upper quartile and three-sigma point of chi-square with one degree of freedom. */
const LEAST_CUT = 9
const SKEW = 4

export class Noise {
  readonly #looked: Looked
  readonly #groupings: readonly Grouping[]
  /** How much a unit of variance in one grouping shows in the surprise of another. */
  readonly #cross: number[][]
  readonly #scratch: Float64Array

  constructor(looked: Looked, groupings: readonly Grouping[], base: Float64Array) {
    this.#looked = looked
    this.#groupings = groupings
    this.#scratch = new Float64Array(Math.max(1, ...groupings.map(({ groups }) => groups)))
    this.#cross = groupings.map((one) => this.#shows(one, base))
  }

  /**
   * Variance of the logarithm of the odds between the groups of each grouping, by moments: what the
   * squared surprise of a group is over 1 is owed to its own grouping and to those it overlaps. What these
   * castings cannot tell apart, such as heats and the loads that follow them, is shared.
   */
  components(base: Float64Array): Float64Array {
    const excess = this.#groupings.map((grouping) => this.#excess(grouping, base))
    return leastSquaresFromZero(this.#cross, excess)
  }

  /** Variance that the components carry into the effect of an exposure. */
  carried(exposure: Float64Array, base: Float64Array, components: Float64Array): number {
    const { weight, information } = this.#score(exposure, base)
    if (information <= 0) return 0
    let carried = 0
    for (let g = 0; g < components.length; g++)
      if (components[g]! > 0)
        carried += components[g]! * squaresBy(this.#groupings[g]!, weight, this.#scratch)
    return carried / information ** 2
  }

  /** Weights of the rows in a first estimate of the effect, which is Σ weight·(found/expected − 1). */
  #score(exposure: Float64Array, base: Float64Array) {
    const { castings, stratum, strata } = this.#looked
    const exposed = new Float64Array(strata)
    const all = new Float64Array(strata)
    const v = new Float64Array(exposure.length)
    for (let r = 0; r < exposure.length; r++) {
      const x = exposure[r]!
      if (Number.isNaN(x)) continue
      v[r] = castings[r]! * base[r]! * (1 - base[r]!)
      exposed[stratum[r]!]! += v[r]! * x
      all[stratum[r]!]! += v[r]!
    }
    const weight = new Float64Array(exposure.length)
    let information = 0
    for (let r = 0; r < exposure.length; r++) {
      const x = exposure[r]!
      if (Number.isNaN(x)) continue
      const s = stratum[r]!
      const away = x - exposed[s]! / (all[s]! || 1)
      weight[r] = v[r]! * away
      information += v[r]! * away * away
    }
    return { weight, information }
  }

  /** Sum over the groups of a grouping of the squared surprise, less 1, cut off; and its variance. */
  #excess(grouping: Grouping, base: Float64Array): Excess {
    const { found, variance } = this.#groupSums(grouping, base)
    const surprise = new Float64Array(found.length)
    let groups = 0
    for (let c = 0; c < found.length; c++) {
      if (variance[c]! <= LEAST_EXPECTED) continue
      surprise[groups] = found[c]! ** 2 / variance[c]!
      variance[groups++] = variance[c]!
    }
    const upper = surprise.slice(0, groups).sort()[Math.floor(0.75 * groups)] ?? 0
    const cut = Math.max(LEAST_CUT, CUT * upper)
    // Where little is expected single finds surprise more: their tail is their own, not a cause's.
    let sum = 0
    for (let i = 0; i < groups; i++) sum += Math.min(surprise[i]!, cut + SKEW / variance[i]!) - 1
    groups ||= 1
    // Squared surprises of groups are as many times chi-square as large as they are in the mean.
    return { sum, variance: 2 * groups * (1 + Math.max(0, sum / groups)) ** 2 }
  }

  /** Found less expected, and its variance if castings fail alone, by group. */
  #groupSums({ start, group, part, groups }: Grouping, base: Float64Array) {
    const { castings, defective } = this.#looked
    const found = new Float64Array(groups)
    const variance = new Float64Array(groups)
    for (let r = 0; r < base.length; r++) {
      const expected = castings[r]! * base[r]!
      const surprise = defective[r]! - expected
      const alone = expected * (1 - base[r]!)
      for (let i = start[r]!; i < start[r + 1]!; i++) {
        found[group[i]!]! += part[i]! * surprise
        variance[group[i]!]! += part[i]! * part[i]! * alone
      }
    }
    return { found, variance }
  }

  /**
   * For one grouping: the sum over its groups of Σ (expected in common with a group of the other)² ÷
   * variance. Of a row that is partly in both, the product of the parts is in common.
   */
  #shows(grouping: Grouping, base: Float64Array): number[] {
    const { castings } = this.#looked
    const { variance } = this.#groupSums(grouping, base)
    const { first, row, part: share } = byGroup(grouping)
    const common = this.#scratch.fill(0)
    return this.#groupings.map(({ start, group, part }) => {
      let sum = 0
      for (let c = 0; c < grouping.groups; c++) {
        if (variance[c]! <= LEAST_EXPECTED) continue
        let squares = 0
        for (let at = first[c]!; at < first[c + 1]!; at++) {
          const r = row[at]!
          const expected = share[at]! * castings[r]! * base[r]! * (1 - base[r]!)
          for (let i = start[r]!; i < start[r + 1]!; i++) {
            const d = group[i]!
            const more = expected * part[i]!
            squares += more * (2 * common[d]! + more)
            common[d]! += more
          }
        }
        for (let at = first[c]!; at < first[c + 1]!; at++) {
          const r = row[at]!
          for (let i = start[r]!; i < start[r + 1]!; i++) common[group[i]!] = 0
        }
        sum += squares / variance[c]!
      }
      return sum
    })
  }
}

/** Sum over groups of the square of what rows weigh in each. */
function squaresBy(
  { start, group, part, groups }: Grouping,
  weight: Float64Array,
  scratch: Float64Array,
): number {
  const sums = scratch.fill(0, 0, groups)
  for (let r = 0; r < weight.length; r++) {
    const w = weight[r]!
    if (w === 0) continue
    for (let i = start[r]!; i < start[r + 1]!; i++) sums[group[i]!]! += w * part[i]!
  }
  let squares = 0
  for (let c = 0; c < groups; c++) squares += sums[c]! * sums[c]!
  return squares
}

interface Excess {
  sum: number
  variance: number
}

/** Groups of which hardly anything is expected say nothing. */
const LEAST_EXPECTED = 0.05

/** The same by group: the rows that are in it, from `first[c]` to `first[c + 1]`, and with which part. */
function byGroup({ start, group, part, groups }: Grouping) {
  const first = new Int32Array(groups + 1)
  for (const c of group) first[c + 1]!++
  for (let c = 0; c < groups; c++) first[c + 1]! += first[c]!
  const next = first.slice()
  const row = new Int32Array(group.length)
  const share = new Float64Array(group.length)
  for (let r = 0; r + 1 < start.length; r++)
    for (let i = start[r]!; i < start[r + 1]!; i++) {
      const at = next[group[i]!]!++
      row[at] = r
      share[at] = part[i]!
    }
  return { first, row, part: share }
}

/**
 * The x ≥ 0 with the least squares of a·x − sum over their variances, and of x over what it is expected to be
 * at most; by coordinate descent.
 */
function leastSquaresFromZero(a: readonly number[][], excess: readonly Excess[]): Float64Array {
  const x = new Float64Array(excess.length)
  const rest = excess.map(({ sum }) => sum)
  const weight = excess.map(({ variance }) => 1 / variance)
  for (let round = 0; round < DESCENTS; round++) {
    let farthest = 0
    for (let j = 0; j < x.length; j++) {
      let [up, down] = [-x[j]! / EXPECTED ** 2, 1 / EXPECTED ** 2]
      for (let i = 0; i < rest.length; i++) {
        up += weight[i]! * a[i]![j]! * rest[i]!
        down += weight[i]! * a[i]![j]! ** 2
      }
      const moved = Math.max(0, x[j]! + up / down) - x[j]!
      if (moved === 0) continue
      x[j]! += moved
      for (let i = 0; i < rest.length; i++) rest[i]! -= a[i]![j]! * moved
      farthest = Math.max(farthest, Math.abs(moved))
    }
    if (farthest < STANDS) break
  }
  // What rounding left of nothing is nothing.
  return x.map((variance) => (variance < STANDS ? 0 : variance))
}
/** Variance of the log odds of one grouping, beforehand: heats or loads differ by a third (from memory). */
const EXPECTED = 0.1
const DESCENTS = 200
/** Variances of log odds that move by less stand still. */
const STANDS = 1e-6
