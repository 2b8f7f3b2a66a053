// Noise that is always the same for the same question: 64 signs for each cause of error. Causes that
// many weighings share, such as a scale, have a row of a Hadamard matrix each, so that none looks like
// another (J. Sylvester, 1867); a single weighing has one of many balanced rows, picked by what it is.

import { REPLICATES, type Rows } from './rows.ts'

/** Rows for causes that are shared; two causes of one row are taken for one. */
export const SHARED = REPLICATES - 1
const SINGLE = 1024

export class Noise {
  /** By number of a shared cause. */
  readonly shared: Int32Array
  readonly single: Int32Array

  constructor(rows: Rows) {
    signs ??= signsOfAll()
    const laid = Int32Array.from({ length: SHARED + SINGLE }, (_, k) => {
      const row = rows.take()
      rows.at(row).set(signs!.subarray(k * REPLICATES, (k + 1) * REPLICATES))
      return row
    })
    this.shared = laid.subarray(0, SHARED)
    this.single = laid.subarray(SHARED)
  }

  /** Row of a single weighing. */
  of(hash: number): number {
    return this.single[hash & (SINGLE - 1)]!
  }
}

/** One row behind the other; made once, for every ledger. */
let signs: Float32Array | undefined

function signsOfAll(): Float32Array {
  const all = new Float32Array((SHARED + SINGLE) * REPLICATES)
  for (let k = 0; k < SHARED; k++) {
    for (let i = 0; i < REPLICATES; i++) all[k * REPLICATES + i] = sylvester(k + 1, i)
  }
  for (let k = 0; k < SINGLE; k++) all.set(balanced(k), (SHARED + k) * REPLICATES)
  return all
}

/** The parity of the bits two numbers share. */
function sylvester(a: number, b: number): number {
  let bits = a & b
  let sign = 1
  for (; bits > 0; bits &= bits - 1) sign = -sign
  return sign
}

// Half of the signs up, half down, so that no row leans.
function balanced(k: number): number[] {
  const signs: number[] = Array.from({ length: REPLICATES }, (_, i) => (i % 2 === 0 ? 1 : -1))
  for (let i = REPLICATES - 1; i > 0; i--) {
    const j = mixed(k, i) % (i + 1)
    ;[signs[i], signs[j]] = [signs[j]!, signs[i]!]
  }
  return signs
}

/** Two whole numbers as one that tells nothing of them: the finish of MurmurHash3, public domain. */
export function mixed(a: number, b: number): number {
  let h = Math.imul(a ^ Math.imul(b, 0x9e3779b1), 0x85ebca6b)
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b)
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35)
  return (h ^ (h >>> 16)) >>> 0
}
