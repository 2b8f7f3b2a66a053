import { describe, expect, it } from 'vitest'
import {
  alike,
  corrected,
  exactTest,
  type FourCounts,
  leastDifference,
  mantelHaenszel,
  sameInStrata,
  trend,
} from '../../services/stats/tables.ts'

const four = (badA: number, goodA: number, badB: number, goodB: number): FourCounts => ({
  badA,
  goodA,
  badB,
  goodB,
})

/** R looks for odds ratios to a tolerance of the fourth root of its precision only. */
const R_ROOT = 1.3e-4

describe('The exact test of two groups', () => {
  it("gives R's values for the tasting of tea (documentation of fisher.test)", () => {
    const test = exactTest(four(3, 1, 1, 3))
    expect(test.greater).toBeCloseTo(0.2429, 4)
    expect(test.twoSided).toBeCloseTo(0.4857, 4)
    expect(Math.abs(test.odds.value - 6.408309)).toBeLessThan(R_ROOT * 6.4)
    // One-sided 95 %: the low end of a two-sided 90 %.
    expect(Math.abs(exactTest(four(3, 1, 1, 3), 0.9).odds.low - 0.3135693)).toBeLessThan(R_ROOT)
    expect(exactTest(four(4, 0, 0, 4)).greater).toBeCloseTo(1 / 70, 12)
  })

  it("gives R's values for convictions of twins (documentation of fisher.test)", () => {
    const test = exactTest(four(2, 15, 10, 3))
    expect(test.less).toBeCloseTo(0.0004652, 7)
    expect(test.twoSided).toBeCloseTo(0.0005367, 7)
    expect(test.odds.value).toBeCloseTo(0.04693661, 7)
    expect(Math.abs(test.odds.low - 0.003325764)).toBeLessThan(R_ROOT)
    expect(Math.abs(test.odds.high - 0.363182271)).toBeLessThan(R_ROOT)
  })

  it("gives SciPy's value (documentation of fisher_exact)", () => {
    expect(exactTest(four(8, 2, 1, 5)).twoSided).toBeCloseTo(0.034965034965, 11)
  })
})

describe('The test of k groups', () => {
  it('gives the published value for smokers among patients (Fleiss; R, prop.test)', () => {
    const groups = [
      [83, 86],
      [90, 93],
      [129, 136],
      [70, 82],
    ].map(([defective, castings]) => ({ defective: defective!, castings: castings! }))
    const { chiSquare, df, chanceAlone } = alike(groups)
    expect(chiSquare).toBeCloseTo(12.6004, 4)
    expect(df).toBe(3)
    expect(chanceAlone).toBeCloseTo(0.005585, 6)
  })

  it('gives the published value for five lots of diodes (NIST/SEMATECH e-Handbook 7.4.5)', () => {
    const lots = [36, 46, 42, 63, 38].map((defective) => ({ defective, castings: 300 }))
    const { chiSquare, df, chanceAlone } = alike(lots)
    expect(chiSquare).toBeCloseTo(12.131, 3)
    expect(df).toBe(4)
    expect(chanceAlone).toBeCloseTo(0.016405, 6)
    // 7.4.7.4, Marascuilo: no pair is told apart.
    expect(leastDifference(lots[0]!, lots[3]!, 5)).toBeCloseTo(0.0927, 4)
    expect(leastDifference(lots[3]!, lots[4]!, 5)).toBeCloseTo(0.0935, 4)
    expect(leastDifference(lots[0]!, lots[1]!, 5)).toBeCloseTo(0.0863, 4)
  })

  it('says nothing of one group, of none bad, of all bad', () => {
    expect(alike([{ castings: 10, defective: 3 }]).chanceAlone).toBe(1)
    expect(alike([10, 20].map((castings) => ({ castings, defective: 0 }))).chanceAlone).toBe(1)
    expect(alike([10, 20].map((castings) => ({ castings, defective: castings }))).chanceAlone).toBe(
      1,
    )
  })
})

// Admissions at Berkeley, 1973: admitted and rejected men, then women, six departments (R, UCBAdmissions).
const ADMISSIONS = [
  four(512, 313, 89, 19),
  four(353, 207, 17, 8),
  four(120, 205, 202, 391),
  four(138, 279, 131, 244),
  four(53, 138, 94, 299),
  four(22, 351, 24, 317),
]

describe('Two groups over strata', () => {
  it("gives R's values for the admissions of 1973 (mantelhaen.test)", () => {
    const found = mantelHaenszel(ADMISSIONS)!
    expect(found.chiSquare).toBeCloseTo(1.4269, 4)
    expect(found.chanceAlone).toBeCloseTo(0.2323, 4)
    expect(found.odds.value).toBeCloseTo(0.9046968, 7)
    expect(found.odds.low).toBeCloseTo(0.7719074, 7)
    expect(found.odds.high).toBeCloseTo(1.0603298, 7)
    const plain = mantelHaenszel(ADMISSIONS, 1, 0)!
    expect(plain.chiSquare).toBeCloseTo(1.524607, 6)
    expect(plain.chanceAlone).toBeCloseTo(0.216924, 6)
  })

  it("tells that the strata differ, by Woolf's test (R, UCBAdmissions)", () => {
    const { chiSquare, df, chanceAlone } = sameInStrata(ADMISSIONS)
    expect(chiSquare).toBeCloseTo(17.64408, 5)
    expect(df).toBe(5)
    expect(chanceAlone).toBeCloseTo(0.0034272, 7)
  })

  it("gives R's values with strata of one group only (rabbits, mantelhaen.test)", () => {
    const rabbits = [
      four(0, 6, 0, 5),
      four(3, 3, 0, 6),
      four(6, 0, 2, 4),
      four(5, 1, 6, 0),
      four(2, 0, 5, 0),
    ]
    const found = mantelHaenszel(rabbits)!
    expect(found.chiSquare).toBeCloseTo(3.9286, 4)
    expect(found.chanceAlone).toBeCloseTo(0.04747, 5)
    expect(found.odds.value).toBeCloseTo(7, 10)
    expect(found.odds.low).toBeCloseTo(1.026713, 6)
    expect(found.odds.high).toBeCloseTo(47.725133, 5)
  })

  it('takes the mix out: equal inside every stratum is equal', () => {
    // A makes mostly what fails often; inside each stratum both fail alike.
    const strata = [four(90, 810, 10, 90), four(1, 99, 9, 891)]
    expect(mantelHaenszel(strata)!.times.value).toBeCloseTo(1, 12)
  })

  it('is undefined where no stratum has both', () => {
    expect(mantelHaenszel([four(1, 9, 0, 0), four(0, 0, 2, 8)])).toBeUndefined()
  })
})

describe('Chances corrected for many looks', () => {
  // Benjamini and Hochberg 1995, section 3.2, fifteen comparisons; adjusted values by SciPy (false_discovery_control).
  const chances = [
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719,
    0.6528, 0.759, 1,
  ]

  it('reject four of the published fifteen, where the bound on any error rejects three', () => {
    expect(corrected(chances).filter((p) => p <= 0.05)).toHaveLength(4)
    expect(chances.filter((p) => p * 15 <= 0.05)).toHaveLength(3)
  })

  it('have the published values', () => {
    const published = [
      0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.06385714, 0.06385714, 0.0645, 0.0765, 0.486,
      0.58118182, 0.714875, 0.75323077, 0.81321429, 1,
    ]
    for (const [i, p] of corrected(chances).entries()) expect(p).toBeCloseTo(published[i]!, 7)
    const dependent = [0.004977, 0.009955, 0.031523, 0.118212, 0.200089]
    for (const [i, p] of dependent.entries()) expect(corrected(chances, true)[i]).toBeCloseTo(p, 6)
  })

  it('keep the order given (SciPy)', () => {
    const found = corrected([0.5, 0.6, 0.1, 0.001])
    for (const [i, p] of [0.6, 0.6, 0.2, 0.004].entries()) expect(found[i]).toBeCloseTo(p, 12)
  })
})

describe('A trend with the dose', () => {
  it("gives R's value for smokers among patients (prop.trend.test, X-squared 8.2249)", () => {
    const groups = [
      [83, 86],
      [90, 93],
      [129, 136],
      [70, 82],
    ].map(([defective, castings], dose) => ({
      dose,
      defective: defective!,
      castings: castings!,
    }))
    const { z, chanceAlone } = trend(groups)
    // From memory of the documentation of prop.trend.test.
    expect(z * z).toBeCloseTo(8.2249, 4)
    expect(chanceAlone).toBeCloseTo(0.004132, 5)
    expect(z).toBeLessThan(0)
  })
})
