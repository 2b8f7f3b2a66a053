// What nobody recorded of a thing is as likely as those before and after it make it, as far as things follow each
// other in that. So a scan that is missing takes no castings out of what is weighed.
import { type Atoms, atomsBy, type Factor, type Levels } from './table.ts'

/** Things that a factor is recorded of, in the order in which they came. */
export interface Things {
  /** By row or by unit, the number of its thing; −1 for none. */
  of: Int32Array
  /** By thing, one of its rows or units. */
  one: Int32Array
}

/** Of which things factors are recorded: of the widest batches whose castings all have the same. */
export class Recordings {
  readonly #batches: { batch: Levels; things: Things }[]
  readonly #known = new Map<Factor, Things | undefined>()

  constructor(atoms: readonly Atoms[], factors: readonly Factor[]) {
    this.#batches = factors
      .filter((factor) => factor.form === 'levels')
      .filter(({ kind }) => kind === 'batch')
      .map((batch) => ({ batch, things: thingsOf(batch, atoms) }))
      .sort((a, b) => a.things.one.length - b.things.one.length)
  }

  /** Nothing where all is recorded, or where nobody knows of what. */
  of(factor: Factor): Things | undefined {
    if (!this.#known.has(factor)) this.#known.set(factor, this.#find(factor))
    return this.#known.get(factor)
  }

  #find(factor: Factor): Things | undefined {
    const values = factor.form === 'levels' ? factor.codes : factor.values
    if (factor.form === 'dose' || !values.some((value) => isNobodys(factor, value)))
      return undefined
    return this.#batches.find(
      ({ batch, things }) =>
        batch.of === factor.of &&
        values.every((value, i) => {
          const thing = things.of[i]!
          return thing < 0 || Object.is(values[things.one[thing]!], value)
        }),
    )?.things
  }
}

function isNobodys({ form }: Factor, value: number): boolean {
  return form === 'levels' ? value < 0 : Number.isNaN(value)
}

function thingsOf({ of, codes, levels }: Levels, atoms: readonly Atoms[]): Things {
  const { rows, units } = atomsBy(atoms, of)
  const number = new Int32Array(levels.length).fill(-1)
  const one: number[] = []
  const count = of === 'row' ? rows : units.length
  for (let k = 0; k < count; k++) {
    const i = of === 'row' ? k : units[k]!
    const code = codes[i]!
    if (code >= 0 && number[code]! < 0) number[code] = one.push(i) - 1
  }
  return {
    of: Int32Array.from(codes, (code) => (code < 0 ? -1 : number[code]!)),
    one: Int32Array.from(one),
  }
}

/** Whether a condition holds for things in their order, 1 or 0: fills in how likely it does where nobody knows. */
export function fillIn(held: Float64Array): Float64Array {
  const known = held.filter((x) => !Number.isNaN(x))
  const mean = known.reduce((sum, x) => sum + x, 0) / known.length
  const full = Float64Array.from(held)
  const between = new Map<number, Float64Array>()
  let before = -1
  for (let t = 0; t <= held.length; t++) {
    if (t < held.length && Number.isNaN(held[t]!)) continue
    if (t - before > 1) {
      const half = (t - before + 1) >> 1
      const chances = between.get(half) ?? chancesAt(held, half, mean)
      between.set(half, chances)
      const sides = (held[before] ?? held[t]!) + (held[t] ?? held[before]!)
      full.fill(chances[sides] ?? mean, before + 1, t)
    }
    before = t
  }
  return full
}

/**
 * How often it holds where it does for none, for one and for both of the things so far before and after; as if one
 * more had been seen, that is like all.
 */
function chancesAt(held: Float64Array, half: number, mean: number): Float64Array {
  const chances = new Float64Array(3).fill(mean)
  const seen = new Float64Array(3).fill(1)
  for (let t = half; t + half < held.length; t++) {
    const sides = held[t - half]! + held[t + half]!
    const own = held[t]!
    if (Number.isNaN(sides + own)) continue
    chances[sides]! += own
    seen[sides]!++
  }
  return chances.map((sum, sides) => sum / seen[sides]!)
}
