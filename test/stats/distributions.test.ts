// @ts-expect-error: it comes without types
import jstat from 'jstat'
import { describe, expect, it } from 'vitest'
import {
  betaQuantile,
  binomialAtLeast,
  chiSquareAbove,
  chiSquareQuantile,
  hypergeometric,
  hypergeometricAtLeast,
  normalAbove,
  normalQuantile,
  poissonAtLeast,
  studentAbove,
  studentQuantile,
} from '../../services/stats/distributions.ts'

// Two libraries that share no code must agree; published values stand beside their sources.

const CHANCES = [0.001, 0.025, 0.2, 0.5, 0.8, 0.975, 0.999]

describe('Distributions', () => {
  it('agree with a second library', () => {
    for (const p of CHANCES) {
      expect(normalQuantile(p)).toBeCloseTo(jstat.normal.inv(p, 0, 1), 7)
      for (const df of [1, 2, 5, 30, 400]) {
        expect(chiSquareQuantile(p, df)).toBeCloseTo(jstat.chisquare.inv(p, df), 4)
        expect(studentQuantile(p, df) / (jstat.studentt.inv(p, df) || 1)).toBeCloseTo(
          p === 0.5 ? 0 : 1,
          4,
        )
      }
      for (const [a, b] of [
        [0.5, 0.5],
        [4, 17],
        [82, 183],
        [1000, 3],
      ] as const)
        expect(betaQuantile(p, a, b)).toBeCloseTo(jstat.beta.inv(p, a, b), 5)
    }
    for (const z of [-4, -1.5, 0, 0.3, 2, 6])
      expect(normalAbove(z)).toBeCloseTo(1 - jstat.normal.cdf(z, 0, 1), 8)
    expect(binomialAtLeast(7, 20, 0.2)).toBeCloseTo(1 - jstat.binomial.cdf(6, 20, 0.2), 6)
    expect(poissonAtLeast(7, 3.5)).toBeCloseTo(1 - jstat.poisson.cdf(6, 3.5), 8)
  })

  it('take quantile and tail as inverses of each other', () => {
    for (const p of CHANCES)
      for (const df of [1, 3, 12, 250]) {
        expect(1 - chiSquareAbove(chiSquareQuantile(p, df), df)).toBeCloseTo(p, 10)
        expect(1 - studentAbove(studentQuantile(p, df), df)).toBeCloseTo(p, 10)
      }
  })

  it('keep their precision far out', () => {
    // Upper tail at z = 10: 7.619853024160527e-24, from R (pnorm, lower.tail = FALSE), from memory.
    expect(normalAbove(10) / 7.619853024160527e-24).toBeCloseTo(1, 10)
  })

  it('give the published hypergeometric values', () => {
    // SciPy documentation of fisher_exact: table [[6, 2], [1, 4]].
    const published = [0.0163, 0.163, 0.408, 0.326, 0.0816, 0.00466]
    for (const [i, value] of published.entries())
      expect(hypergeometric(i + 2, 13, 8, 7) / value).toBeCloseTo(1, 2)
    expect(1 - hypergeometricAtLeast(7, 13, 8, 7)).toBeCloseTo(0.9953379953, 9)
    // Our own arithmetic: 20 things, 7 marked, 12 drawn; 5000 things, 60 marked, 400 drawn.
    expect(hypergeometricAtLeast(6, 20, 7, 12)).toBeCloseTo(0.105573, 6)
    expect(hypergeometricAtLeast(14, 5000, 60, 400)).toBeCloseTo(1.99374e-4, 8)
  })
})
