import { describe, expect, it } from 'vitest'
import { type Random, randomOf } from '../../services/plant/random.ts'
import { normalQuantile } from '../../services/stats/distributions.ts'
import {
  clopperPearson,
  clusteredShare,
  designEffect,
  togetherness,
  wilson,
  wilsonCorrected,
} from '../../services/stats/interval.ts'

// Newcombe, Statistics in Medicine 17 (1998) 857, Table I, 95 %.
const NEWCOMBE = [
  { of: [81, 263], wilson: [0.2553, 0.3662], corrected: [0.2535, 0.3682], exact: [0.2527, 0.3676] },
  { of: [15, 148], wilson: [0.0624, 0.1605], corrected: [0.0598, 0.1644], exact: [0.0578, 0.1617] },
  { of: [0, 20], wilson: [0, 0.1611], corrected: [0, 0.2005], exact: [0, 0.1684] },
  { of: [1, 29], wilson: [0.0061, 0.1718], corrected: [0.0018, 0.1963], exact: [0.0009, 0.1776] },
] as const

describe('An interval for a share', () => {
  it.each(NEWCOMBE)('has the published ends for $of', ({ of: [bad, all], ...published }) => {
    const methods = { wilson, corrected: wilsonCorrected, exact: clopperPearson }
    for (const name of ['wilson', 'corrected', 'exact'] as const) {
      const { low, high } = methods[name](bad, all)
      expect(low).toBeCloseTo(published[name][0], 4)
      expect(high).toBeCloseTo(published[name][1], 4)
    }
  })

  it('has the exact 90 % ends of NIST/SEMATECH e-Handbook 7.2.4.1, 4 of 20', () => {
    const { low, high } = clopperPearson(4, 20, 0.9)
    expect(low).toBeCloseTo(0.071354, 6)
    expect(high).toBeCloseTo(0.401029, 5)
    const score = wilson(4, 20, normalQuantile(0.95))
    expect([score.low, score.high]).toEqual([
      expect.closeTo(0.093118, 6),
      expect.closeTo(0.378377, 6),
    ])
  })

  it('of nothing looked at says nothing', () => {
    expect(wilson(0, 0)).toEqual({ value: Number.NaN, low: 0, high: 1 })
  })
})

describe('Castings that fail together', () => {
  it('count for less: clusters wholly bad or good count as one each', () => {
    const clusters = [0, 0, 0, 0, 0, 0, 0, 10].map((defective) => ({ castings: 10, defective }))
    expect(togetherness([clusters])).toBe(1)
    expect(designEffect(clusters, 1)).toBe(10)
  })

  it('count in full when clusters differ no more than chance', () => {
    const clusters = [1, 1, 1, 1].map((defective) => ({ castings: 10, defective }))
    expect(togetherness([clusters])).toBe(0)
    expect(clusteredShare(clusters, 0)).toEqual(wilson(4, 40))
  })

  it('are covered as often as said, where plain intervals are not', () => {
    const random = randomOf(2026, 'rates')
    let clustered = 0
    let plain = 0
    const runs = 1500
    for (let run = 0; run < runs; run++) {
      const clusters = Array.from({ length: 40 }, () => {
        const share = betaDraw(random, 2, 38)
        let defective = 0
        for (let i = 0; i < 60; i++) if (random.unit() < share) defective++
        return { castings: 60, defective }
      })
      const holds = ({ low, high }: { low: number; high: number }) => low <= 0.05 && 0.05 <= high
      if (holds(clusteredShare(clusters, togetherness([clusters])))) clustered++
      const defective = clusters.reduce((sum, c) => sum + c.defective, 0)
      if (holds(wilson(defective, 40 * 60))) plain++
    }
    expect(plain / runs).toBeLessThan(0.8)
    expect(clustered / runs).toBeGreaterThan(0.93)
    expect(clustered / runs).toBeLessThan(0.97)
  }, 60_000)
})

/** A beta value for whole a and b: the a-th smallest of a + b - 1 uniform ones. */
function betaDraw(random: Random, a: number, b: number): number {
  const values = Array.from({ length: a + b - 1 }, () => random.unit()).sort((x, y) => x - y)
  return values[a - 1]!
}
