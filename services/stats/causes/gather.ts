// What rows are made of by code: by level of a factor, or by bin of a measure.
import type { Atoms, Of } from './table.ts'

/** A factor by code, of rows or of units: a level, or a bin of a measure; below 0 where it was not recorded. */
export interface Coded {
  of: Of
  codes: Int32Array
  /** Codes go from 0 to below this. */
  count: number
}

/** Some rows, or of each what a condition lets through: of row `row[k]` the atoms from `start[k]` to `start[k + 1]`. */
export interface Through {
  row: Int32Array
  start: Int32Array
  unit: Int32Array
  part: Float64Array
  /** Part of the row that is surely not let through. */
  out: Float64Array
}

/** All rows, wholly. */
export function wholly({ rows, start, unit, part }: Atoms): Through {
  return {
    row: Int32Array.from({ length: rows }, (_, r) => r),
    start,
    unit,
    part,
    out: new Float64Array(rows),
  }
}

/**
 * Gathers what is let through by one factor after another: the k-th row has `code[j]` in part `part[j]`, each code
 * once, for j from `start[k]` to `start[k + 1]`. Parts are of what is known of the row, with what is not let through.
 */
export class Gather {
  readonly through: Through
  readonly start: Int32Array
  readonly code: Int32Array
  readonly part: Float64Array
  /** How much of the row is known. */
  readonly known: Float64Array
  /** How much of it is let through. */
  readonly #some: Float64Array

  constructor(through: Through) {
    this.through = through
    this.start = new Int32Array(through.start.length)
    this.code = new Int32Array(through.unit.length)
    this.part = new Float64Array(through.unit.length)
    this.known = new Float64Array(through.row.length)
    const { start, part, row } = through
    this.#some = new Float64Array(row.length)
    for (let k = 0; k < row.length; k++)
      for (let i = start[k]!; i < start[k + 1]!; i++) this.#some[k]! += part[i]!
  }

  by(coded: Coded): this {
    if (coded.of === 'row') this.#byRow(coded)
    else this.#byUnit(coded)
    return this
  }

  #byRow({ codes }: Coded): void {
    const { row, out } = this.through
    let count = 0
    for (let k = 0; k < row.length; k++) {
      const code = codes[row[k]!]!
      const some = code >= 0 ? this.#some[k]! : 0
      const known = some + out[k]!
      this.known[k] = known
      if (some > 0) {
        this.code[count] = code
        this.part[count++] = some / known
      }
      this.start[k + 1] = count
    }
  }

  #byUnit({ codes, count: most }: Coded): void {
    const { row, start, unit, part, out } = this.through
    const [code, parts] = [this.code, this.part]
    /** By code, its place in the last row it was in. */
    const place = new Int32Array(most).fill(-1)
    let count = 0
    for (let k = 0; k < row.length; k++) {
      const begin = count
      let known = out[k]!
      for (let i = start[k]!; i < start[k + 1]!; i++) {
        const one = unit[i]! < 0 ? -1 : codes[unit[i]!]!
        if (one < 0) continue
        known += part[i]!
        if (place[one]! >= begin) parts[place[one]!]! += part[i]!
        else {
          place[one] = count
          code[count] = one
          parts[count++] = part[i]!
        }
      }
      for (let j = begin; j < count; j++) parts[j]! /= known
      this.known[k] = known
      this.start[k + 1] = count
    }
  }

  /** Puts the parts of each row in the order of their codes: they are few, and mostly in order. */
  inOrder(): this {
    const { start, code, part } = this
    for (let k = 0; k + 1 < start.length; k++)
      for (let j = start[k]! + 1; j < start[k + 1]!; j++)
        for (let i = j; i > start[k]! && code[i - 1]! > code[i]!; i--) {
          const [c, p] = [code[i]!, part[i]!]
          code[i] = code[i - 1]!
          part[i] = part[i - 1]!
          code[i - 1] = c
          part[i - 1] = p
        }
    return this
  }
}
