// What company adds to a condition: how surprising the defects are where a second one holds as well, once
// the effect of the first, the gate, is in what is expected.
import { type Coded, Gather, type Through } from './gather.ts'
import type { Looked } from './likelihood.ts'
import type { Range } from './ranges.ts'
import { type Atoms, KNOWN_FROM, type Of } from './table.ts'

/**
 * Sums over rows, by candidate × stratum, so many numbers each: by the part that is exposed what was found, what was
 * expected, and that by its square and by what the gate exposes; and that part times all that was let through.
 */
const [FOUND, EXPECTED, SQUARED, SHARED, CROSSED, SUMS] = [0, 1, 2, 3, 4, 5]

/** And sums over all rows, by stratum: what was found and expected, and what of both the gate exposes. */
const [ALL_FOUND, ALL_EXPECTED, GATE, GATE_SQUARED, GATE_FOUND, ALL] = [0, 1, 2, 3, 4, 5]

/** A candidate is held against all rows, and against what the gate by itself could still explain. */
class Surprises {
  /** By stratum found over expected, 0 where that tells nothing; and what the gate exposes of the expected. */
  readonly #times: Float64Array
  readonly #expected: Float64Array
  readonly #gate: Float64Array
  #scoreOfGate = 0
  #ofGate = 0

  constructor(all: Float64Array) {
    const strata = all.length / ALL
    this.#times = new Float64Array(strata)
    this.#expected = new Float64Array(strata)
    this.#gate = new Float64Array(strata)
    for (let s = 0; s < strata; s++) {
      const at = s * ALL
      const found = all[at + ALL_FOUND]!
      const expected = all[at + ALL_EXPECTED]!
      const gate = all[at + GATE]!
      if (found <= 0 || expected <= 0) continue
      const times = found / expected
      this.#times[s] = times
      this.#expected[s] = expected
      this.#gate[s] = gate / expected
      this.#scoreOfGate += all[at + GATE_FOUND]! - times * gate
      this.#ofGate += times * (all[at + GATE_SQUARED]! - (gate * gate) / expected)
    }
  }

  /** In standard deviations, from sums by stratum from a place on. */
  at(sums: Float64Array, from: number): number {
    let score = 0
    let information = 0
    let common = 0
    for (let s = 0; s < this.#times.length; s++) {
      const times = this.#times[s]!
      if (times === 0) continue
      const at = from + s * SUMS
      const own = sums[at + EXPECTED]!
      score += sums[at + FOUND]! - times * own
      information += times * (sums[at + SQUARED]! - (own * own) / this.#expected[s]!)
      common += times * (sums[at + SHARED]! - own * this.#gate[s]!)
    }
    if (this.#ofGate > 0) {
      score -= (common / this.#ofGate) * this.#scoreOfGate
      information -= (common * common) / this.#ofGate
    }
    return information > LEAST_INFORMATION ? score / Math.sqrt(information) : 0
  }
}
const LEAST_INFORMATION = 0.5

/** A condition, with what is let through of each row in one makeup. */
export class Gate {
  readonly #strata: number
  readonly #gather: Gather
  /** By row that something is let through of: its stratum, found, expected, and the part the gate exposes. */
  readonly #stratum: Int32Array
  readonly #found: Float64Array
  readonly #expected: Float64Array
  readonly #alone: Float64Array
  /** Sums over rows where nothing is let through. */
  readonly #elsewhere: Float64Array

  /**
   * `base` chances of rows with the effect of the gate in them, `held` where it holds, by row or by unit,
   * and `alone` the part of each row it exposes.
   */
  constructor(
    looked: Looked,
    base: Float64Array,
    atoms: Atoms,
    { of, held, alone }: { of: Of; held: Float64Array; alone: Float64Array },
  ) {
    const { strata, stratum, castings, defective } = looked
    this.#strata = strata
    const { through, shut } = letThrough(atoms, of, held)
    this.#gather = new Gather(through)
    const { row } = through
    this.#stratum = Int32Array.from(row, (r) => stratum[r]!)
    this.#found = Float64Array.from(row, (r) => defective[r]!)
    this.#expected = Float64Array.from(row, (r) => castings[r]! * base[r]!)
    this.#alone = Float64Array.from(row, (r) => alone[r]!)
    this.#elsewhere = new Float64Array(strata * ALL)
    for (const r of shut) {
      const at = stratum[r]! * ALL
      this.#elsewhere[at + ALL_FOUND]! += defective[r]!
      this.#elsewhere[at + ALL_EXPECTED]! += castings[r]! * base[r]!
    }
  }

  /** For each level, in standard deviations. */
  surpriseOfLevels(coded: Coded): Float64Array {
    const sums = new Float64Array(coded.count * this.#strata * SUMS)
    const { known } = this.#gather.by(coded)
    for (let k = 0; k < known.length; k++) if (known[k]! >= KNOWN_FROM) this.#addLevels(sums, k)
    const surprises = new Surprises(this.#all())
    return Float64Array.from({ length: coded.count }, (_, k) =>
      surprises.at(sums, k * this.#strata * SUMS),
    )
  }

  /** For each stretch of bins that reaches from the first or to the last. */
  surpriseOfTails(coded: Coded, ranges: readonly Range[]): Float64Array {
    const cell = this.#strata * SUMS
    const { below, whole } = this.#alongBins(coded)
    for (let at = cell; at < below.length; at++) below[at]! += below[at - cell]!
    const surprises = new Surprises(this.#all())
    const above = new Float64Array(cell)
    return Float64Array.from(ranges, ({ from, until }) => {
      const at = ((from === 0 ? until : from) - 1) * cell
      if (from === 0) return surprises.at(below, at)
      for (let i = 0; i < cell; i++) above[i] = whole[i]! - below[at + i]!
      // Of all that was let through, w, (w − x)² = w² − 2·w·x + x².
      for (let i = 0; i < cell; i += SUMS)
        above[i + SQUARED] =
          whole[i + SQUARED]! - 2 * below[at + i + CROSSED]! + below[at + i + SQUARED]!
      return surprises.at(above, 0)
    })
  }

  /** What each bin adds to what lies below its end, and the same of all bins. */
  #alongBins(coded: Coded): { below: Float64Array; whole: Float64Array } {
    const strata = this.#strata
    const below = new Float64Array(coded.count * strata * SUMS)
    const whole = new Float64Array(strata * SUMS)
    const { known } = this.#gather.by(coded).inOrder()
    for (let k = 0; k < known.length; k++)
      if (known[k]! >= KNOWN_FROM) this.#addBins(below, whole, k)
    return { below, whole }
  }

  // Row by row in functions of their own: what follows a long loop would be compiled anew in every call.

  #addLevels(sums: Float64Array, k: number): void {
    const { start, code, part } = this.#gather
    const y = this.#found[k]!
    const e = this.#expected[k]!
    const g = this.#alone[k]!
    for (let j = start[k]!; j < start[k + 1]!; j++) {
      const at = (code[j]! * this.#strata + this.#stratum[k]!) * SUMS
      const x = part[j]!
      sums[at + FOUND]! += x * y
      sums[at + EXPECTED]! += x * e
      sums[at + SQUARED]! += x * x * e
      sums[at + SHARED]! += x * g * e
    }
  }

  #addBins(below: Float64Array, whole: Float64Array, k: number): void {
    const { start, code, part } = this.#gather
    const strata = this.#strata
    const s = this.#stratum[k]!
    const y = this.#found[k]!
    const e = this.#expected[k]!
    const g = this.#alone[k]!
    const until = start[k + 1]!
    let all = 0
    for (let j = start[k]!; j < until; j++) all += part[j]!
    let before = 0
    for (let j = start[k]!; j < until; j++) {
      const at = (code[j]! * strata + s) * SUMS
      const x = part[j]!
      below[at + FOUND]! += x * y
      below[at + EXPECTED]! += x * e
      // The square of a sum grows by more than the square of what is added.
      below[at + SQUARED]! += x * (2 * before + x) * e
      below[at + SHARED]! += x * g * e
      below[at + CROSSED]! += x * all * e
      before += x
    }
    const at = s * SUMS
    whole[at + FOUND]! += all * y
    whole[at + EXPECTED]! += all * e
    whole[at + SQUARED]! += all * all * e
    whole[at + SHARED]! += all * g * e
  }

  /** Sums over rows of which enough is known of what was gathered last. */
  #all(): Float64Array {
    const all = this.#elsewhere.slice()
    const { known } = this.#gather
    for (let k = 0; k < known.length; k++) {
      if (known[k]! < KNOWN_FROM) continue
      const y = this.#found[k]!
      const e = this.#expected[k]!
      const g = this.#alone[k]!
      const at = this.#stratum[k]! * ALL
      all[at + ALL_FOUND]! += y
      all[at + ALL_EXPECTED]! += e
      all[at + GATE]! += g * e
      all[at + GATE_SQUARED]! += g * g * e
      all[at + GATE_FOUND]! += g * y
    }
    return all
  }
}

/** Rows with what is let through of them, and those that are shut out, as far as that is known. */
function letThrough(
  { rows, start, unit, part }: Atoms,
  of: Of,
  held: Float64Array,
): { through: Through; shut: number[] } {
  const [row, begin, out] = [new Int32Array(rows), new Int32Array(rows + 1), new Float64Array(rows)]
  const [units, parts] = [new Int32Array(unit.length), new Float64Array(unit.length)]
  const shut: number[] = []
  let [count, atoms] = [0, 0]
  for (let r = 0; r < rows; r++) {
    let outside = 0
    for (let i = start[r]!; i < start[r + 1]!; i++) {
      const holds = of === 'row' ? held[r]! : unit[i]! < 0 ? Number.NaN : held[unit[i]!]!
      if (holds === 0) outside += part[i]!
      if (holds !== 1) continue
      units[atoms] = unit[i]!
      parts[atoms++] = part[i]!
    }
    if (atoms > begin[count]!) {
      row[count] = r
      out[count++] = outside
      begin[count] = atoms
    } else if (outside >= KNOWN_FROM) shut.push(r)
  }
  const through = {
    row: row.subarray(0, count),
    start: begin.subarray(0, count + 1),
    unit: units.subarray(0, atoms),
    part: parts.subarray(0, atoms),
    out: out.subarray(0, count),
  }
  return { through, shut }
}
