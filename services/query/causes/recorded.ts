// Factors with what is needed to name them: things, machines, units of measure.
import type { Factor, Of } from '../../stats/causes/table.ts'

export type FactorSort = 'LOT_SHARE' | 'LEVEL' | 'BATCH' | 'MEASURE' | 'TIME'

/** A factor, and what its levels and numbers stand for. */
export interface Recorded {
  factor: Factor
  sort: FactorSort
  /** The thing of each level; of a dose the lot. */
  things?: number[]
  /** Its levels are machines by their names on the floor. */
  machines?: boolean
  /** Unit of its numbers, in words. */
  unit?: string
}

/**
 * A part of one to ten places. The last digits of a sum are of the order it was made in, which differs between
 * databases made of one log, and what is solved by steps would carry them into digits that are read.
 */
export function rounded(part: number): number {
  return Math.round(part * 1e10) / 1e10
}

/** By level; undefined where nobody recorded it. */
export function levels(
  name: string,
  of: Of,
  values: readonly (string | undefined)[],
  more: Pick<Recorded, 'machines'> = {},
): Recorded[] {
  const { codes, names } = numbered(values)
  if (names.length === 0) return []
  return [
    {
      factor: { form: 'levels', kind: 'machine', name, of, codes, levels: names },
      sort: 'LEVEL',
      ...more,
    },
  ]
}

/** By thing: a heat, a batch of sand, a load. */
export function batches(
  name: string,
  of: Of,
  values: readonly (number | undefined)[],
  nameOf: (no: number) => string,
): Recorded[] {
  const { codes, names: things } = numbered(values)
  if (things.length === 0) return []
  const factor: Factor = {
    form: 'levels',
    kind: 'batch',
    name,
    of,
    codes,
    levels: things.map(nameOf),
  }
  return [{ factor, sort: 'BATCH', things }]
}

/** A number; undefined where nobody recorded it. */
export function measure(
  name: string,
  of: Of,
  values: readonly (number | undefined)[],
  unit: string,
): Recorded[] {
  const numbers = Float64Array.from(values, (value) => Math.fround(value ?? Number.NaN))
  if (numbers.every(Number.isNaN)) return []
  return [
    {
      factor: { form: 'measure', kind: 'measure', name, of, values: numbers },
      sort: 'MEASURE',
      unit,
    },
  ]
}

/** A moment, whose windows are rivals of everything else. Unit: ms. */
export function moment(name: string, of: Of, values: readonly (number | undefined)[]): Recorded[] {
  const numbers = Float64Array.from(values, (value) => value ?? Number.NaN)
  if (numbers.every(Number.isNaN)) return []
  return [{ factor: { form: 'measure', kind: 'time', name, of, values: numbers }, sort: 'TIME' }]
}

/** How much of a lot, over the most that any casting carries. */
export function dose(name: string, of: Of, lot: number, amounts: Float64Array): Recorded[] {
  const most = amounts.reduce((a, b) => Math.max(a, b), 0)
  if (most <= 0) return []
  const values = amounts.map((amount) => rounded(amount / most))
  return [
    { factor: { form: 'dose', kind: 'lot', name, of, values }, sort: 'LOT_SHARE', things: [lot] },
  ]
}

function numbered<T extends string | number>(values: readonly (T | undefined)[]) {
  const names: T[] = []
  const numbers = new Map<T, number>()
  const codes = Int32Array.from(values, (value) => {
    if (value === undefined) return -1
    const known = numbers.get(value) ?? names.push(value) - 1
    numbers.set(value, known)
    return known
  })
  return { codes, names }
}
