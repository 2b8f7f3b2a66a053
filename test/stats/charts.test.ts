import { describe, expect, it } from 'vitest'
import {
  capability,
  nearerIndex,
  outsideIfNormal,
  spreadIndex,
} from '../../services/stats/charts/capability.ts'
import { charted } from '../../services/stats/charts/chart.ts'
import { c4, d2, d3 } from '../../services/stats/charts/constants.ts'
import {
  countChart,
  overdispersedShareChart,
  rateChart,
  shareChart,
} from '../../services/stats/charts/counts.ts'
import { cumulativeSums, movingAverage } from '../../services/stats/charts/memory.ts'
import { signalsOf } from '../../services/stats/charts/rules.ts'
import {
  individuals,
  meansByDeviation,
  meansByRange,
} from '../../services/stats/charts/variables.ts'

// Published charts: NIST/SEMATECH e-Handbook by section; "Montgomery and Runger" is Applied Statistics
// and Probability for Engineers, 3rd edition, by table or example.

/** Montgomery and Runger, Table 16-3. */
const CONCENTRATION = [
  102, 94.8, 98.3, 98.4, 102, 98.5, 99, 97.7, 100, 98.1, 101.3, 98.7, 101.1, 98.4, 97, 96.7, 100.3,
  101.4, 97.2, 101,
]

const outside = (signals: ReturnType<typeof signalsOf>) =>
  signals.filter(({ rule }) => rule.code === 'beyond-limit').map(({ point }) => point + 1)

describe('Constants of normal samples', () => {
  // Table of control-chart constants, printed to four digits; d2 and d3 to two more by numerical integration.
  it.each([
    [2, 0.7979, 1.1284, 0.8525],
    [3, 0.8862, 1.6926, 0.8884],
    [5, 0.94, 2.3259, 0.8641],
    [10, 0.9727, 3.0775, 0.7971],
    [25, 0.9896, 3.9306, 0.7084],
  ])('for n = %i are the printed ones', (n, four, two, three) => {
    expect(c4(n)).toBeCloseTo(four, 4)
    expect(d2(n)).toBeCloseTo(two, 4)
    expect(d3(n)).toBeCloseTo(three, 4)
  })

  it('for n = 2 are the exact ones', () => {
    expect(d2(2)).toBeCloseTo(2 / Math.sqrt(Math.PI), 10)
    expect(d3(2)).toBeCloseTo(Math.sqrt(2 - 4 / Math.PI), 8)
  })
})

describe('A chart of single values', () => {
  it('has the published limits (NIST 6.3.2.2, flow rate)', () => {
    const { level, spread } = individuals([
      49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1,
    ])
    expect(level.centre[0]).toBeCloseTo(50.81, 10)
    expect(spread.centre[0]).toBeCloseTo(1.8778, 4)
    // Printed with d2 rounded to 1.128: 55.8041 and 45.8159.
    expect(Math.abs(level.upper[0]! - 55.8041)).toBeLessThan(2e-3)
    expect(Math.abs(level.lower[0]! - 45.8159)).toBeLessThan(2e-3)
    expect(spread.upper[0]).toBeCloseTo(6.134, 2)
    expect(spread.lower[0]).toBe(0)
  })

  it('has the published limits (Montgomery and Runger, Table 16-3)', () => {
    const { level } = individuals(CONCENTRATION)
    // Printed from a rounded mean and moving range: 105.99 and 92.21.
    expect(level.upper[0]).toBeCloseTo(105.98, 2)
    expect(level.lower[0]).toBeCloseTo(92.21, 2)
    expect(outside(signalsOf(level))).toEqual([])
  })
})

describe('A chart of groups', () => {
  const groups = [
    [33, 29, 31, 32, 33],
    [33, 31, 35, 37, 31],
    [35, 37, 33, 34, 36],
    [30, 31, 33, 34, 33],
  ]

  it('of one size has limits by A2, D4 and A3, B4 of the printed table', () => {
    const ranged = meansByRange(groups)
    const mean = ranged.level.centre[0]!
    const range = ranged.spread.centre[0]!
    expect(range).toBeCloseTo((4 + 6 + 4 + 4) / 4, 12)
    expect(ranged.level.upper[0]! - mean).toBeCloseTo(0.5768 * range, 3)
    expect(ranged.spread.upper[0]).toBeCloseTo(2.1145 * range, 3)
    const deviated = meansByDeviation(groups)
    const deviation = deviated.spread.centre[0]!
    expect(deviated.level.upper[0]! - mean).toBeCloseTo(1.4273 * deviation, 3)
    expect(deviated.spread.upper[0]).toBeCloseTo(2.089 * deviation, 3)
  })

  it('of several sizes has limits of its own for each', () => {
    const { level } = meansByDeviation([...groups, [30, 33]])
    expect(level.upper[4]).toBeGreaterThan(level.upper[0]!)
  })

  it('refuses ranges of unequal groups', () => {
    expect(() => meansByRange([...groups, [30, 33]])).toThrow(/one size/)
  })
})

describe('A chart of counts', () => {
  const CANS = [
    12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12,
    7, 13, 9, 6,
  ]
  const fifty = (found: number[]) => ({ found, of: found.map(() => 50) })

  it('has the published limits for shares (NIST 6.3.3.2)', () => {
    const chart = shareChart(fifty(CANS))
    expect(chart.centre[0]).toBeCloseTo(0.2313, 4)
    expect(chart.upper[0]).toBeCloseTo(0.4102, 4)
    expect(chart.lower[0]).toBeCloseTo(0.0524, 4)
    expect(outside(signalsOf(chart))).toEqual([15, 23])
    const revised = shareChart(fifty(CANS.filter((_, i) => i !== 14 && i !== 22)))
    expect(revised.centre[0]).toBeCloseTo(0.215, 4)
    expect(revised.upper[0]).toBeCloseTo(0.3893, 4)
    expect(revised.lower[0]).toBeCloseTo(0.0407, 4)
    expect(outside(signalsOf(revised))).toEqual([20])
  })

  it('has the published limits for counts (NIST 6.3.3.1), a point on the limit being in', () => {
    const wafers = [
      16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16,
      31, 13,
    ]
    const chart = countChart(wafers)
    expect(chart.centre[0]).toBe(16)
    expect(chart.upper[0]).toBe(28)
    expect(chart.lower[0]).toBe(4)
    expect(outside(signalsOf(chart, false))).toEqual([24])
  })

  it('has the published limits for defects a piece (Montgomery and Runger, Example 16-5)', () => {
    const boards = [6, 4, 8, 10, 9, 12, 16, 2, 3, 10, 9, 15, 8, 10, 8, 2, 7, 1, 7, 13]
    const chart = rateChart({ found: boards, of: boards.map(() => 5) })
    expect(chart.centre[0]).toBeCloseTo(1.6, 12)
    expect(chart.upper[0]).toBeCloseTo(3.3, 2)
    expect(chart.lower[0]).toBe(0)
    expect(outside(signalsOf(chart))).toEqual([])
  })

  it('finds the published points (Montgomery and Runger, exercise 16-25)', () => {
    const found = [7, 6, 8, 10, 24, 6, 5, 4, 8, 11, 15, 8, 4, 16, 11, 12, 8, 6, 5, 9, 7, 14, 8, 21]
    const chart = rateChart({ found, of: found.map(() => 5) })
    expect(chart.upper[0]).toBeCloseTo(3.81116, 4)
    expect(outside(signalsOf(chart, false))).toEqual([5, 24])
  })

  it('widens for groups that differ by more than chance, and is the plain one where they do not', () => {
    const of = Array.from({ length: 12 }, () => 10_000)
    const found = [500, 620, 480, 650, 520, 610, 470, 600, 540, 630, 490, 580]
    const plain = shareChart({ found, of })
    const wide = overdispersedShareChart({ found, of })
    expect(outside(signalsOf(plain, false)).length).toBeGreaterThan(3)
    expect(outside(signalsOf(wide, false))).toEqual([])
    // All points as far apart as chance makes neighbours: the factor is 1.
    const share = 0.05
    const spread = Math.sqrt((share * (1 - share)) / 10_000) * 10_000
    const step = (spread * 2) / Math.sqrt(Math.PI) / 2
    const even = of.map((_, i) => 500 + (i % 2 ? step : -step))
    const like = overdispersedShareChart({ found: even, of })
    expect(like.upper[0]).toBeCloseTo(shareChart({ found: even, of }).upper[0]!, 8)
  })
})

describe('A moving average', () => {
  it('has the published points and limits (NIST 6.3.2.4)', () => {
    const values = [
      52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
      52.4, 53.6, 52.1,
    ]
    const chart = movingAverage(values, { centre: 50, sigma: 2.0539 })
    const published = [
      50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52,
      50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    ]
    for (const [i, value] of published.entries()) expect(chart.value[i]).toBeCloseTo(value, 1.7)
    // The handbook prints the limits a long series comes to.
    expect(chart.upper[19]).toBeCloseTo(52.5884, 3)
    expect(Math.abs(chart.lower[19]! - 47.4115)).toBeLessThan(1e-3)
  })
})

describe('Cumulative sums', () => {
  it('are the published ones (Montgomery and Runger, Example 16-6)', () => {
    const sums = cumulativeSums(CONCENTRATION, { target: 99, slack: 1, limit: 10 })
    const high = [2, 0, 0, 0, 2, 0.5, 0, 0, 0, 0, 1.3, 0, 1.1, 0, 0, 0, 0.3, 1.7, 0, 1]
    const low = [0, 3.2, 2.9, 2.5, 0, 0, 0, 0.3, 0, 0, 0, 0, 0, 0, 1, 2.3, 0, 0, 0.8, 0]
    for (let i = 0; i < 20; i++) {
      expect(sums.high[i]).toBeCloseTo(high[i]!, 9)
      expect(sums.low[i]).toBeCloseTo(low[i]!, 9)
    }
    expect(sums.signal).toBe(-1)
    // The book prints a run of 0 at the last point; its own rule counts 1.
    expect(sums.highRun[19]).toBe(1)
  })

  it('signal where published (NIST 6.3.2.3)', () => {
    const values = [
      324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625,
      325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
    ]
    const sums = cumulativeSums(values, { target: 325, slack: 0.3175, limit: 4.1959 })
    const published = [3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16, 19.04]
    for (const [i, value] of published.entries())
      expect(Math.abs(sums.high[12 + i]! - value)).toBeLessThan(0.0051)
    expect(sums.signal + 1).toBe(14)
  })
})

describe('Run rules', () => {
  const at = (values: number[]) =>
    signalsOf(charted(values, 0, () => 1)).map(({ point, rule }) => `${rule.code} ${point}`)

  it.each([
    ['beyond-limit', [0, 3.1], 1],
    ['two-of-three', [2.1, 0, 2.1], 2],
    ['four-of-five', [1.1, 1.1, 0, 1.1, 1.1], 4],
    ['eight-on-one-side', [0.5, 0.4, 0.5, 0.4, 0.5, 0.4, 0.5, 0.4], 7],
    ['eight-off-centre', [1.1, -1.1, -1.2, 1.1, 1.2, -1.1, -1.3, 1.1], 7],
    ['six-in-one-direction', [-0.5, -0.3, -0.1, 0.1, 0.3, 0.5], 5],
    [
      'fifteen-near-centre',
      [0.1, 0.1, -0.1, -0.1, 0.1, 0.1, -0.1, -0.1, 0.1, 0.1, -0.1, -0.1, 0.1, 0.1, -0.1],
      14,
    ],
    [
      'fourteen-alternating',
      [0.1, -0.1, 0.1, -0.1, 0.1, -0.1, 0.1, -0.1, 0.1, -0.1, 0.1, -0.1, 0.1, -0.1],
      13,
    ],
  ] as const)('%s comes true at its last point and not before', (code, values, point) => {
    expect(at([...values])).toContain(`${code} ${point}`)
    expect(at(values.slice(0, -1)).filter((s) => s.startsWith(code))).toEqual([])
  })

  it('want both sides apart where they say so', () => {
    expect(at([2.1, 0, -2.1])).toEqual([])
  })

  it('rest where nothing differs', () => {
    expect(signalsOf(charted([5, 5, 5, 5, 5, 5, 5, 5, 5], 5, () => 0))).toEqual([])
  })
})

describe('Capability', () => {
  it('has the published values (NIST 6.1.6)', () => {
    const limits = { lowest: 8, highest: 20 }
    expect(spreadIndex(2, limits, 99)!.value).toBeCloseTo(1, 12)
    expect(nearerIndex(16, 2, limits, 100, 99).value).toBeCloseTo(0.6667, 4)
    expect(nearerIndex(16, 2, { lowest: 8 }, 100, 99).value).toBeCloseTo(1.3333, 4)
  })

  it('has the published values (Montgomery and Runger, vane opening and Example 16-3)', () => {
    const sigma = 5 / d2(5)
    expect(sigma).toBeCloseTo(2.15, 2)
    expect(spreadIndex(sigma, { lowest: 20, highest: 40 }, 80)!.value).toBeCloseTo(1.55, 2)
    expect(nearerIndex(33.19, sigma, { lowest: 20, highest: 40 }, 100, 80).value).toBeCloseTo(
      1.06,
      2,
    )
    const limits = { lowest: 90, highest: 110 }
    expect(spreadIndex(1.5, limits, 99)!.value).toBeCloseTo(2.22, 2)
    expect(nearerIndex(107, 1.5, limits, 100, 99).value).toBeCloseTo(0.67, 2)
    expect(outsideIfNormal(107, 1.5, limits)).toBeCloseTo(0.023, 3)
  })

  it('has the exact fallout where the published one rounds z (100 ± 20, sigma 6)', () => {
    expect(outsideIfNormal(100, 6, { lowest: 80, highest: 120 })).toBeCloseTo(0.000858, 6)
    expect(outsideIfNormal(106, 6, { lowest: 80, highest: 120 })).toBeCloseTo(0.009823, 6)
  })

  it('of values counts those outside, and has no width of limits with one limit', () => {
    const found = capability(CONCENTRATION, { lowest: 95 })
    expect(found.outside.value).toBeCloseTo(1 / 20, 12)
    expect(found.withinSpread).toBeUndefined()
    expect(found.withinNearer.low).toBeLessThan(found.withinNearer.value)
  })
})
