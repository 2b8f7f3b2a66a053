import { describe, expect, it } from 'vitest'
import { Noise, SHARED } from '../../services/metal/ledger/noise.ts'
import { REPLICATES, type RowOps, Rows } from '../../services/metal/ledger/rows.ts'

/** The same in plain words, rounded to 32 bits after each step as the machine does. */
function plain(rows: Rows): RowOps {
  const f = Math.fround
  return {
    pour(a, m, x, n, g, h, e) {
      const [A, M, X, N] = [a, m, x, n].map((row) => rows.at(row)) as Float32Array[]
      for (let k = 0; k < REPLICATES; k++) {
        const noise = N![k]!
        A![k] = f(f(A![k]! + f(X![k]! * f(g))) + f(noise * f(h)))
        M![k] = f(M![k]! + f(noise * f(e)))
      }
    },
    tap(c, a, m, share, factor) {
      const [C, A, M] = [c, a, m].map((row) => rows.at(row)) as Float32Array[]
      const sums = [0, 0, 0, 0]
      for (let k = 0; k < REPLICATES; k++) {
        const off = f(f(A![k]! - f(M![k]! * f(share))) * f(factor))
        C![k] = off
        sums[k % 4] = f(f(off * off) + sums[k % 4]!)
      }
      return sums.slice(1).reduce((sum, four) => f(sum + four), sums[0]!)
    },
  }
}

describe('Rows', () => {
  it('are worked on by the vector units as in plain words, to the last bit', () => {
    const [one, other] = [new Rows(), new Rows()]
    const words = plain(other)
    const taken = Array.from({ length: 6 }, () => {
      other.take()
      return one.take()
    })
    for (const [k, row] of taken.entries()) {
      for (const rows of [one, other]) {
        rows.at(row).set(Float32Array.from({ length: REPLICATES }, (_, i) => Math.sin(7 * k + i)))
      }
    }
    const [a, m, x, n, c, d] = taken as [number, number, number, number, number, number]
    for (const ops of [one.ops, words]) {
      ops.pour(a, m, x, n, 0.3, -1.7, 2.9)
      ops.pour(c, d, 0, n, 5, 0.1, -0.2)
    }
    const sums = [one.ops, words].map((ops) => ops.tap(c, a, m, 0.37, 1.3))
    expect(sums[0]).toBe(sums[1])
    for (const row of taken) expect([...one.at(row)]).toEqual([...other.at(row)])
  })

  it('are given back and taken again, and grow to as many as are asked for', () => {
    const rows = new Rows()
    const first = rows.take()
    rows.give(first)
    expect(rows.take()).toBe(first)
    const many = new Set(Array.from({ length: 10_000 }, () => rows.take()))
    expect(many.size).toBe(10_000)
    rows.at(Math.max(...many)).fill(1)
    rows.clear(Math.max(...many))
    expect([...rows.at(0), ...rows.at(Math.max(...many))].every((value) => value === 0)).toBe(true)
  })
})

describe('Noise', () => {
  it('has a row for each shared cause that no other looks like, and single ones that do not lean', () => {
    const rows = new Rows()
    const noise = new Noise(rows)
    expect(noise.shared.length).toBe(SHARED)
    const dot = (p: number, q: number) => {
      const [x, y] = [rows.at(p), rows.at(q)]
      return x.reduce((sum, value, k) => sum + value * y[k]!, 0)
    }
    for (const p of noise.shared) {
      for (const q of noise.shared) expect(dot(p, q)).toBe(p === q ? REPLICATES : 0)
    }
    const likeness = []
    for (const [k, p] of noise.single.entries()) {
      expect(rows.at(p).reduce((sum, sign) => sum + sign, 0)).toBe(0)
      likeness.push(dot(p, noise.single[(k + 1) % noise.single.length]!) / REPLICATES)
    }
    const square = likeness.reduce((sum, r) => sum + r * r, 0) / likeness.length
    // Of rows of 64 random signs the mean square of what they have in common is 1 in 64.
    expect(square).toBeGreaterThan(0.6 / REPLICATES)
    expect(square).toBeLessThan(1.6 / REPLICATES)
  })
})
