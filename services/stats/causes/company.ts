// What company adds to a condition: how surprising the defects are where a second one holds as well, once
// the effect of the first, the gate, is in what is expected.
import { type Coded, Gather, type Through } from './gather.ts'
import type { Looked } from './likelihood.ts'
import type { Range } from './ranges.ts'
import { type Atoms, KNOWN_FROM, type Of } from './table.ts'
import { addUp, ofTails, squaresOfTails } from './tails.ts'

/** Sums by candidate × stratum over rows by the part that is exposed. */
interface Sums {
  found: Float64Array
  expected: Float64Array
  squared: Float64Array
  /** By that part and what the gate exposes. */
  shared: Float64Array
}

/** Sums over all rows, by stratum. */
interface All {
  found: number
  expected: number
  gate: number
  gateSquared: number
  gateFound: number
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
  /** Found and expected where nothing is let through, by stratum. */
  readonly #elsewhere: { found: Float64Array; expected: Float64Array }

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
    this.#elsewhere = { found: new Float64Array(strata), expected: new Float64Array(strata) }
    for (const r of shut) {
      this.#elsewhere.found[stratum[r]!]! += defective[r]!
      this.#elsewhere.expected[stratum[r]!]! += castings[r]! * base[r]!
    }
  }

  /** For each level, in standard deviations. */
  surpriseOfLevels(coded: Coded): Float64Array {
    const strata = this.#strata
    const { start, code, part, known } = this.#gather.by(coded)
    const sums = noSums(coded.count * strata)
    const { found, expected, squared, shared } = sums
    for (let k = 0; k < known.length; k++) {
      if (known[k]! < KNOWN_FROM) continue
      const [y, e, g] = [this.#found[k]!, this.#expected[k]!, this.#alone[k]!]
      for (let j = start[k]!; j < start[k + 1]!; j++) {
        const [at, x] = [code[j]! * strata + this.#stratum[k]!, part[j]!]
        found[at]! += x * y
        expected[at]! += x * e
        squared[at]! += x * x * e
        shared[at]! += x * g * e
      }
    }
    return this.#surprises(sums, coded.count)
  }

  /** For each stretch of bins that reaches from the first or to the last. */
  surpriseOfTails(coded: Coded, ranges: readonly Range[]): Float64Array {
    const strata = this.#strata
    const { start, code, part, known } = this.#gather.by(coded).inOrder()
    const { found, expected, squared, shared } = noSums(coded.count * strata)
    const crossed = new Float64Array(coded.count * strata)
    const whole = noSums(strata)
    for (let k = 0; k < known.length; k++) {
      if (known[k]! < KNOWN_FROM) continue
      const [s, y, e, g] = [this.#stratum[k]!, this.#found[k]!, this.#expected[k]!, this.#alone[k]!]
      let all = 0
      for (let j = start[k]!; j < start[k + 1]!; j++) all += part[j]!
      let below = 0
      for (let j = start[k]!; j < start[k + 1]!; j++) {
        const [at, x] = [code[j]! * strata + s, part[j]!]
        found[at]! += x * y
        expected[at]! += x * e
        squared[at]! += x * (2 * below + x) * e
        shared[at]! += x * g * e
        crossed[at]! += x * all * e
        below += x
      }
      whole.found[s]! += all * y
      whole.expected[s]! += all * e
      whole.squared[s]! += all * all * e
      whole.shared[s]! += all * g * e
    }
    for (const sums of [found, expected, squared, shared, crossed]) addUp(sums, strata)
    return this.#surprises(
      {
        found: ofTails(found, whole.found, ranges),
        expected: ofTails(expected, whole.expected, ranges),
        squared: squaresOfTails(squared, crossed, whole.squared, ranges),
        shared: ofTails(shared, whole.shared, ranges),
      },
      ranges.length,
    )
  }

  #surprises(sums: Sums, candidates: number): Float64Array {
    const all = this.#all()
    return Float64Array.from({ length: candidates }, (_, k) => surpriseOf(sums, all, k))
  }

  /** Sums over rows of which enough is known of what was gathered last. */
  #all(): All[] {
    const all = Array.from(
      { length: this.#strata },
      (_, s): All => ({
        found: this.#elsewhere.found[s]!,
        expected: this.#elsewhere.expected[s]!,
        gate: 0,
        gateSquared: 0,
        gateFound: 0,
      }),
    )
    const { known } = this.#gather
    for (let k = 0; k < known.length; k++) {
      if (known[k]! < KNOWN_FROM) continue
      const [y, e, g] = [this.#found[k]!, this.#expected[k]!, this.#alone[k]!]
      const sum = all[this.#stratum[k]!]!
      sum.found += y
      sum.expected += e
      sum.gate += g * e
      sum.gateSquared += g * g * e
      sum.gateFound += g * y
    }
    return all
  }
}

function noSums(cells: number): Sums {
  const sum = () => new Float64Array(cells)
  return { found: sum(), expected: sum(), squared: sum(), shared: sum() }
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

/** How surprising a candidate is, less what the gate by itself could still explain. */
function surpriseOf(
  { found, expected, squared, shared }: Sums,
  all: readonly All[],
  k: number,
): number {
  let [score, information, scoreOfGate, ofGate, common] = [0, 0, 0, 0, 0]
  for (const [s, one] of all.entries()) {
    if (one.found <= 0 || one.expected <= 0) continue
    const at = k * all.length + s
    const times = one.found / one.expected
    score += found[at]! - times * expected[at]!
    information += times * (squared[at]! - (expected[at]! * expected[at]!) / one.expected)
    scoreOfGate += one.gateFound - times * one.gate
    ofGate += times * (one.gateSquared - (one.gate * one.gate) / one.expected)
    common += times * (shared[at]! - (expected[at]! * one.gate) / one.expected)
  }
  if (ofGate > 0) {
    score -= (common / ofGate) * scoreOfGate
    information -= (common * common) / ofGate
  }
  return information > LEAST_INFORMATION ? score / Math.sqrt(information) : 0
}
