// What was looked at, as columns of numbers, and the factors that may explain what was found.

/**
 * Castings looked at. A row is a sub-batch of which nothing more is told apart; where loads mingle, it
 * is made of units in certain parts: of pours, say, and in another way of blast loads.
 */
export interface Inspected {
  /** Looked at, by row. Unit: castings; need not be whole. */
  castings: Float64Array
  /** Of them, with the defect. Unit: castings. */
  defective: Float64Array
  /** What may differ in its rate without being a cause: the product, numbered from 0. */
  stratum: Int32Array
  /** The ways in which rows are made of units. */
  makeups: readonly Makeup[]
}

/** Row r is made of the units `unit[i]` in parts `part[i]`, for i from `start[r]` to `start[r + 1]`. */
export interface Makeup {
  start: Int32Array
  unit: Int32Array
  part: Float64Array
}

/** How a factor takes its share of belief beforehand: by its kind, not by the number of its levels. */
export const KINDS = ['machine', 'batch', 'lot', 'measure', 'missing', 'time', 'pair'] as const
export type Kind = (typeof KINDS)[number]

export type Of = 'row' | number

/** A recorded property, by row or by unit. */
export type Factor = Levels | Measure | Dose

interface Recorded {
  /** Its name, such as oven or sand moisture. */
  name: string
  /** Whether rows have it, or their units by the makeup of this number. */
  of: Of
}

/** One of several: a machine, a pattern, a heat. */
export interface Levels extends Recorded {
  form: 'levels'
  kind: 'machine' | 'batch'
  /** Number of the level; below 0 where nobody recorded it. */
  codes: Int32Array
  levels: readonly string[]
}

/** A number that may be too low or too high; a time may be so within a window. */
export interface Measure extends Recorded {
  form: 'measure'
  kind: 'measure' | 'time'
  /** NaN where nobody recorded it. */
  values: Float64Array
}

/** How much of a lot: 0 none, 1 the most of it that any casting carries. */
export interface Dose extends Recorded {
  form: 'dose'
  kind: 'lot'
  values: Float64Array
}

/** A row counts when at least this part of it is known. */
export const KNOWN_FROM = 0.5

/**
 * Rows and their units, one pair after the other: parts of a row add up to 1. What a row is made of
 * and nobody knows is an atom of unit −1.
 */
export interface Atoms {
  rows: number
  start: Int32Array
  unit: Int32Array
  part: Float64Array
  /** Of which rows are made, each once. */
  units: Int32Array
}

/** Parts of a row are as good as none, or as all, within this. */
export const ROUNDING = 1e-6

/** The atoms of each makeup; where there is none, rows of which nothing is known. */
export function atomsOf({ castings, makeups }: Inspected): Atoms[] {
  const rows = castings.length
  const nothing = {
    start: new Int32Array(rows + 1),
    unit: new Int32Array(),
    part: new Float64Array(),
  }
  return (makeups.length > 0 ? makeups : [nothing]).map((makeup) => ofMakeup(rows, makeup))
}

/** Those that go with a factor; of rows any will do. */
export function atomsBy(atoms: readonly Atoms[], of: Of): Atoms {
  return atoms[of === 'row' ? 0 : of]!
}

function ofMakeup(rows: number, makeup: Makeup): Atoms {
  const unit: number[] = []
  const part: number[] = []
  const start = new Int32Array(rows + 1)
  for (let r = 0; r < rows; r++) {
    let left = 1
    for (let i = makeup.start[r]!; i < makeup.start[r + 1]!; i++) {
      unit.push(makeup.unit[i]!)
      part.push(makeup.part[i]!)
      left -= makeup.part[i]!
    }
    if (left > ROUNDING) {
      unit.push(-1)
      part.push(left)
    }
    start[r + 1] = unit.length
  }
  const units = Int32Array.from(new Set(unit)).filter((one) => one >= 0)
  return { rows, start, unit: Int32Array.from(unit), part: Float64Array.from(part), units }
}
