// What company adds to a condition: how surprising the defects are where a second one holds as well, once
// the effect of the first, the gate, is in what is expected.
import type { Looked } from './likelihood.ts'
import type { Range } from './ranges.ts'
import { type Coded, inOrder, type Parts } from './screen.ts'
import { type Atoms, KNOWN_FROM, type Of } from './table.ts'

/** What of one row the gate lets through. */
interface Through {
  row: number
  /** Atoms of the makeup in which it holds. */
  atoms: number[]
  /** Part of the row where it surely does not hold. */
  out: number
}

/** Sums by candidate × stratum over rows by the part that is exposed. */
interface Sums {
  found: Float64Array
  expected: Float64Array
  squared: Float64Array
  /** By that part and what the gate exposes. */
  shared: Float64Array
  /** By that part and all that is let through and known. */
  whole: Float64Array
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
  readonly #looked: Looked
  readonly #expected: Float64Array
  readonly #alone: Float64Array
  readonly #part: Float64Array
  readonly #through: Through[] = []
  /** Found and expected where nothing is let through, by stratum. */
  readonly #elsewhere: { found: Float64Array; expected: Float64Array }

  /**
   * `base` chances of rows with the effect of the gate in them, `held` where it holds, by row or by unit,
   * and `alone` the part of each row it exposes.
   */
  constructor(
    looked: Looked,
    base: Float64Array,
    { start, unit, part }: Atoms,
    { of, held, alone }: { of: Of; held: Float64Array; alone: Float64Array },
  ) {
    this.#looked = looked
    this.#expected = looked.castings.map((n, r) => n * base[r]!)
    this.#alone = alone
    this.#part = part
    const { strata, stratum, defective } = looked
    this.#elsewhere = { found: new Float64Array(strata), expected: new Float64Array(strata) }
    for (let row = 0; row < alone.length; row++) {
      const through: Through = { row, atoms: [], out: 0 }
      for (let i = start[row]!; i < start[row + 1]!; i++) {
        const holds = of === 'row' ? held[row]! : unit[i]! < 0 ? Number.NaN : held[unit[i]!]!
        if (holds === 1) through.atoms.push(i)
        else if (holds === 0) through.out += part[i]!
      }
      if (through.atoms.length > 0) this.#through.push(through)
      else if (through.out >= KNOWN_FROM) {
        this.#elsewhere.found[stratum[row]!]! += defective[row]!
        this.#elsewhere.expected[stratum[row]!]! += this.#expected[row]!
      }
    }
  }

  /** For each level, in standard deviations. */
  surpriseOfLevels(coded: Coded): Float64Array {
    const sums = this.#noSums(coded.count)
    const all = this.#walk(coded, (at, parts, { y, e, g }) => {
      for (let j = 0; j < parts.count; j++) {
        const k = parts.code[j]! * this.#looked.strata + at
        const x = parts.part[j]!
        sums.found[k]! += x * y
        sums.expected[k]! += x * e
        sums.squared[k]! += x * x * e
        sums.shared[k]! += x * g * e
      }
    })
    return Float64Array.from({ length: coded.count }, (_, k) => this.#surprise(sums, all, k))
  }

  /**
   * For each stretch of bins that reaches from the first or to the last. What lies below a cut rises in steps,
   * which are added up along the cuts at the end; what lies above is the rest of what is let through.
   */
  surpriseOfTails(coded: Coded, ranges: readonly Range[]): Float64Array {
    const { strata } = this.#looked
    const steps = this.#noSums(coded.count)
    const whole = this.#noSums(1)
    const all = this.#walk(coded, (at, parts, { y, e, g }) => {
      inOrder(parts)
      let known = 0
      for (let j = 0; j < parts.count; j++) known += parts.part[j]!
      let below = 0
      for (let j = 0; j < parts.count; j++) {
        const k = parts.code[j]! * strata + at
        const x = parts.part[j]!
        steps.found[k]! += x * y
        steps.expected[k]! += x * e
        steps.squared[k]! += x * (2 * below + x) * e
        steps.shared[k]! += x * g * e
        steps.whole[k]! += x * known * e
        below += x
      }
      whole.found[at]! += known * y
      whole.expected[at]! += known * e
      whole.squared[at]! += known * known * e
      whole.shared[at]! += known * g * e
    })
    for (const sum of Object.values(steps) as Float64Array[])
      for (let at = strata; at < sum.length; at++) sum[at]! += sum[at - strata]!
    const sums = this.#noSums(ranges.length)
    for (const [k, { from, until }] of ranges.entries())
      for (let s = 0; s < strata; s++) {
        const [into, at] = [k * strata + s, ((from === 0 ? until : from) - 1) * strata + s]
        const low = from === 0
        for (const sum of ['found', 'expected', 'shared'] as const)
          sums[sum][into] = low ? steps[sum][at]! : whole[sum][s]! - steps[sum][at]!
        sums.squared[into] = low
          ? steps.squared[at]!
          : whole.squared[s]! - 2 * steps.whole[at]! + steps.squared[at]!
      }
    return Float64Array.from(ranges, (_, k) => this.#surprise(sums, all, k))
  }

  #noSums(candidates: number): Sums {
    const sum = () => new Float64Array(candidates * this.#looked.strata)
    return { found: sum(), expected: sum(), squared: sum(), shared: sum(), whole: sum() }
  }

  /** Calls back for each row of which something is let through and enough is known. */
  #walk(
    { of, codes, count }: Coded,
    each: (stratum: number, parts: Parts, row: { y: number; e: number; g: number }) => void,
  ): All[] {
    const { strata, stratum, defective } = this.#looked
    const all = Array.from(
      { length: strata },
      (_, s): All => ({
        found: this.#elsewhere.found[s]!,
        expected: this.#elsewhere.expected[s]!,
        gate: 0,
        gateSquared: 0,
        gateFound: 0,
      }),
    )
    const byCode = new Float64Array(count)
    const parts: Parts = { code: new Int32Array(count), part: new Float64Array(count), count: 0 }
    for (const { row, atoms, out } of this.#through) {
      let known = out
      parts.count = 0
      for (const i of atoms) {
        const code = codes[of === 'row' ? row : i]!
        if (code < 0) continue
        if (byCode[code] === 0) parts.code[parts.count++] = code
        byCode[code]! += this.#part[i]!
        known += this.#part[i]!
      }
      for (let j = 0; j < parts.count; j++) {
        parts.part[j] = byCode[parts.code[j]!]! / known
        byCode[parts.code[j]!] = 0
      }
      if (known < KNOWN_FROM) continue
      const [y, e, g] = [defective[row]!, this.#expected[row]!, this.#alone[row]!]
      const sum = all[stratum[row]!]!
      sum.found += y
      sum.expected += e
      sum.gate += g * e
      sum.gateSquared += g * g * e
      sum.gateFound += g * y
      each(stratum[row]!, parts, { y, e, g })
    }
    return all
  }

  /** Less what the gate by itself could still explain. */
  #surprise({ found, expected, squared, shared }: Sums, all: readonly All[], k: number): number {
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
}
