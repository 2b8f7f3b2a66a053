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
  const all = groupings.reduce((sum, { group }) => sum + group.length, rows)
  const start = new Int32Array(rows + 1)
  const column = new Int32Array(all)
  const part = new Float64Array(all)
  let at = 0
  for (let r = 0; r < rows; r++) {
    column[at] = stratum[r]!
    part[at++] = 1
    for (const [g, grouping] of groupings.entries())
      for (let i = grouping.start[r]!; i < grouping.start[r + 1]!; i++) {
        column[at] = first[g]! + grouping.group[i]!
        part[at++] = grouping.part[i]!
      }
    start[r + 1] = at
  }
  return { rows, start, column, part, of: Int32Array.from(of) }
}

/** A matrix: row r has `by[i]` in column `column[i]`, for i from `start[r]` to `start[r + 1]`. */
export interface Sparse {
  start: Int32Array
  column: Int32Array
  by: Float64Array
  columns: number
}

/** The covariance K of the log odds of rows: of all groups, and of the widest by themselves. */
export class Covariance {
  /** Parts times the standard deviation of the group's luck: K is this times its transpose. */
  readonly all: Sparse
  readonly wide: Sparse
  /** Of each row, the variance that all others but the widest bring. */
  readonly narrow: Float64Array
  readonly #sums: Float64Array

  /** `variance` of a column; columns without any are left out. */
  constructor(shared: Shared, variance: Float64Array) {
    this.all = weighed(shared, variance)
    const { wide, narrow } = parted(this.all)
    this.wide = wide
    this.narrow = narrow
    this.#sums = new Float64Array(this.all.columns)
  }

  /** K·v. */
  times(v: Float64Array, into: Float64Array): Float64Array {
    const { start, column, by } = this.all
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
}

function weighed({ rows, start, column, part }: Shared, variance: Float64Array): Sparse {
  const number = new Int32Array(variance.length)
  const deviation = variance.map(Math.sqrt)
  let [columns, kept] = [0, 0]
  for (let c = 0; c < variance.length; c++) number[c] = variance[c]! > 0 ? columns++ : -1
  const found = {
    start: new Int32Array(rows + 1),
    column: new Int32Array(column.length),
    by: new Float64Array(column.length),
    columns,
  }
  for (let r = 0; r < rows; r++) {
    for (let i = start[r]!; i < start[r + 1]!; i++) {
      if (number[column[i]!]! < 0) continue
      found.column[kept] = number[column[i]!]!
      found.by[kept++] = part[i]! * deviation[column[i]!]!
    }
    found.start[r + 1] = kept
  }
  return found
}

/** So many columns count as wide: strata, machines and days, which tie all rows to each other. */
const WIDE = 64

/** The columns with the greatest sums of squares, and of each row what is left of its squares. */
function parted({ start, column, by, columns }: Sparse): { wide: Sparse; narrow: Float64Array } {
  const rows = start.length - 1
  const width = new Float64Array(columns)
  for (let i = 0; i < start[rows]!; i++) width[column[i]!]! += by[i]! ** 2
  const least = width.slice().sort().subarray(-WIDE)[0] ?? 0
  const number = new Int32Array(columns).fill(-1)
  let count = 0
  for (let c = 0; c < columns; c++) if (width[c]! >= least && count < WIDE) number[c] = count++
  const [narrow, ofWide] = [new Float64Array(rows), new Int32Array(rows + 1)]
  const wide: number[] = []
  const values: number[] = []
  for (let r = 0; r < rows; r++) {
    for (let i = start[r]!; i < start[r + 1]!; i++) {
      const at = number[column[i]!]!
      if (at < 0) narrow[r]! += by[i]! ** 2
      else {
        wide.push(at)
        values.push(by[i]!)
      }
    }
    ofWide[r + 1] = wide.length
  }
  return {
    wide: {
      start: ofWide,
      column: Int32Array.from(wide),
      by: Float64Array.from(values),
      columns: count,
    },
    narrow,
  }
}

export function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!
  return sum
}
