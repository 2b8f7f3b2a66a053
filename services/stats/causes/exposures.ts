// How much of each row has what a candidate asks for.
import type { Part } from './candidate.ts'
import { type Exposure, Guesser, surely } from './guesses.ts'
import { Recordings, type Things } from './likely.ts'
import { type Atoms, type Factor, KNOWN_FROM, type Of } from './table.ts'

/** Exposures to one candidate after another: thousands of them, so room for what holds is made once. */
export class Exposures {
  readonly #atoms: readonly Atoms[]
  readonly #factors: readonly Factor[]
  readonly #recordings: Recordings
  /** How far all conditions hold, by row or by unit, from place 1 on; at 0 for a unit that nobody knows. */
  readonly #held: Float64Array

  constructor(atoms: readonly Atoms[], factors: readonly Factor[]) {
    this.#atoms = atoms
    this.#factors = factors
    this.#recordings = new Recordings(atoms, factors)
    this.#held = new Float64Array(1 + Math.max(0, ...factors.map(lengthOf)))
  }

  /**
   * Fills in the part of each row that is exposed, 0 to 1; NaN where too little is recorded. Of conditions
   * on different makeups the parts are multiplied: which castings have both, nobody can say.
   */
  of(parts: readonly Part[], into: Float64Array): Float64Array {
    into.fill(1)
    for (const [of, some] of Map.groupBy(parts, ({ factor }) => this.#factors[factor]!.of)) {
      this.#hold(some)
      if (of === 'row')
        for (let r = 0; r < into.length; r++) into[r] = and(into[r]!, this.#held[r + 1]!)
      else this.#andOfUnits(into, of)
    }
    return into
  }

  /** The same, with guesses at what nobody recorded of a thing: for conditions on rows and on one makeup. */
  guessed(parts: readonly Part[], rows: number): Exposure {
    const makeups = parts
      .map(({ factor }) => this.#factors[factor]!.of)
      .filter((of) => of !== 'row')
    const lacking = parts.some((part) => this.#thingsOf(part))
    if (!lacking || new Set(makeups).size > 1) return surely(this.of(parts, new Float64Array(rows)))
    const [makeup] = makeups
    const guesser = new Guesser()
    const ofRows = this.#guess(guesser, parts, 'row')
    const ofUnits = makeup === undefined ? undefined : this.#guess(guesser, parts, makeup)
    return guesser.exposure(this.#atoms[makeup ?? 0]!, ofRows, ofUnits)
  }

  /** How far all conditions hold, by row or by unit: 0 where one surely does not, NaN where that is not known. */
  held(parts: readonly Part[]): Float64Array {
    this.#hold(parts)
    return this.#held.slice(1, 1 + lengthOf(this.#factors[parts[0]!.factor]!))
  }

  /** The same by the units of each row; of a unit that nobody knows only so much is known. */
  #andOfUnits(into: Float64Array, of: Exclude<Of, 'row'>): void {
    const held = this.#held
    const { start, unit, part } = this.#atoms[of]!
    for (let r = 0; r < into.length; r++) {
      if (into[r] === 0) continue
      let known = 0
      let exposed = 0
      const until = start[r + 1]!
      for (let i = start[r]!; i < until; i++) {
        const one = held[unit[i]! + 1]!
        if (Number.isNaN(one)) continue
        known += part[i]!
        exposed += part[i]! * one
      }
      into[r] = and(into[r]!, known >= KNOWN_FROM ? exposed / known : Number.NaN)
    }
  }

  #guess(guesser: Guesser, parts: readonly Part[], of: Of): Float64Array | undefined {
    const all = parts
      .filter(({ factor }) => this.#factors[factor]!.of === of)
      .map((part) => {
        this.#hold([part])
        const held = this.#held.slice(0, 1 + lengthOf(this.#factors[part.factor]!))
        const things = this.#thingsOf(part)
        if (things) guesser.guess(held, things)
        return held
      })
    return all[0]?.map((_, i) => all.reduce((one, other) => guesser.and(one, other[i]!), 1))
  }

  /** Of which it is recorded, where that is to be guessed. */
  #thingsOf({ factor, is }: Part): Things | undefined {
    return is === 'missing' ? undefined : this.#recordings.of(this.#factors[factor]!)
  }

  #hold(parts: readonly Part[]): void {
    const all = parts.every(({ is }) => is === 'missing')
    this.#held.fill(1, 0, 1 + lengthOf(this.#factors[parts[0]!.factor]!))
    for (const part of parts) hold(this.#held, this.#factors[part.factor]!, part)
    this.#held[0] = all ? 1 : Number.NaN
  }
}

/** What surely does not hold is not exposed, whatever else nobody knows. */
function and(one: number, other: number): number {
  return one === 0 || other === 0 ? 0 : one * other
}

/** One condition more, of the same rows or units. */
function hold(held: Float64Array, factor: Factor, part: Part): void {
  if (factor.form === 'levels') holdLevel(held, factor.codes, part)
  else if (part.is === 'between') holdBetween(held, factor.values, part.from, part.until)
  else holdValue(held, factor.values, part.is === 'missing')
}

function holdLevel(held: Float64Array, codes: Int32Array, part: Part): void {
  const level = part.is === 'level' ? part.level : -1
  const unknown = part.is === 'missing' ? 1 : Number.NaN
  for (let i = 0; i < codes.length; i++) {
    const code = codes[i]!
    held[i + 1] = and(held[i + 1]!, code < 0 ? unknown : code === level ? 1 : 0)
  }
}

function holdBetween(held: Float64Array, values: Float64Array, from: number, until: number): void {
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    const one = Number.isNaN(value) ? value : value >= from && value < until ? 1 : 0
    held[i + 1] = and(held[i + 1]!, one)
  }
}

function holdValue(held: Float64Array, values: Float64Array, missing: boolean): void {
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!
    held[i + 1] = and(held[i + 1]!, missing ? (Number.isNaN(value) ? 1 : 0) : value)
  }
}

function lengthOf(factor: Factor): number {
  return (factor.form === 'levels' ? factor.codes : factor.values).length
}
