import { describe, expect, it } from 'vitest'
import { randomOf } from '../../services/plant/random.ts'
import { runOf } from '../../services/plant/score/hidden/planted.ts'
import { between } from '../../services/stats/causes/candidates.ts'
import { groupingsOf } from '../../services/stats/causes/clusters.ts'
import { evidenceOf } from '../../services/stats/causes/evidence.ts'
import { explain } from '../../services/stats/causes/explain.ts'
import { Exposures } from '../../services/stats/causes/exposures.ts'
import { GRID, logLikelihood, STEP, tallyOf } from '../../services/stats/causes/likelihood.ts'
import { Noise } from '../../services/stats/causes/noise.ts'
import { groupsOf, nothingOf } from '../../services/stats/causes/report.ts'
import {
  atomsOf,
  type Factor,
  type Inspected,
  type Measure,
} from '../../services/stats/causes/table.ts'

/** Rows of one unit each. */
function inspected(rows: [stratum: number, castings: number, defective: number][]): Inspected {
  return {
    stratum: Int32Array.from(rows, ([stratum]) => stratum),
    castings: Float64Array.from(rows, ([, castings]) => castings),
    defective: Float64Array.from(rows, ([, , defective]) => defective),
    makeups: [
      {
        start: Int32Array.from({ length: rows.length + 1 }, (_, i) => i),
        unit: Int32Array.from(rows.keys()),
        part: new Float64Array(rows.length).fill(1),
      },
    ],
  }
}

function likelihoodOf(table: Inspected, exposure: number[]): Float64Array {
  const strata = Math.max(...table.stratum) + 1
  const base = table.castings.map((n, r) => Math.min(0.9, Math.max(0.001, table.defective[r]! / n)))
  const rate = base.reduce((a, b) => a + b, 0) / base.length
  const looked = { ...table, strata }
  return logLikelihood(tallyOf(looked, base.fill(rate), Float64Array.from(exposure)))
}

const best = (log: Float64Array) => GRID[log.indexOf(Math.max(...log))]!

describe('The likelihood of an effect', () => {
  it.each([
    ['rare defects', 30, 1000, 20, 2000],
    ['frequent defects', 300, 1000, 300, 2000],
  ])('is greatest at the odds ratio of a table, with %s', (_, bad, all, badElse, allElse) => {
    const log = likelihoodOf(
      inspected([
        [0, all, bad],
        [0, allElse, badElse],
      ]),
      [1, 0],
    )
    const odds = Math.log(bad / (all - bad) / (badElse / (allElse - badElse)))
    expect(Math.abs(best(log) - odds)).toBeLessThan(STEP)
  })

  it('is at its peak half of the G of the table', () => {
    // Likelihood-ratio statistic of a 2 × 2 table: 2 Σ O·ln(O/E).
    const log = likelihoodOf(
      inspected([
        [0, 1000, 30],
        [0, 2000, 20],
      ]),
      [1, 0],
    )
    const cells = [
      [30, (50 * 1000) / 3000],
      [20, (50 * 2000) / 3000],
      [970, (2950 * 1000) / 3000],
      [1980, (2950 * 2000) / 3000],
    ] as const
    const g = 2 * cells.reduce((sum, [o, e]) => sum + o * Math.log(o / e), 0)
    expect(Math.max(...log)).toBeCloseTo(g / 2, 1)
  })

  it('does not see that products differ', () => {
    const log = likelihoodOf(
      inspected([
        [0, 1000, 100],
        [0, 1000, 100],
        [1, 3000, 30],
        [1, 1000, 10],
      ]),
      [1, 0, 0, 1],
    )
    expect(Math.abs(best(log))).toBeLessThan(STEP / 2)
  })

  it('takes a load that is half exposed for what it is', () => {
    const log = likelihoodOf(
      inspected([
        [0, 100_000, 2000],
        [0, 100_000, 1000],
      ]),
      [0.5, 0],
    )
    expect(Math.exp(best(log))).toBeCloseTo(3, 0)
  })

  it.each([
    [
      'none are defective',
      [
        [0, 100, 0],
        [0, 100, 0],
      ],
    ],
    [
      'all are defective',
      [
        [0, 100, 100],
        [0, 100, 100],
      ],
    ],
    [
      'there are no castings',
      [
        [0, 0, 0],
        [0, 0, 0],
      ],
    ],
  ] as [string, [number, number, number][]][])('is flat where %s', (_, rows) => {
    expect([...likelihoodOf(inspected(rows), [1, 0])].every((log) => log === 0)).toBe(true)
  })

  it('leaves out rows of which nothing is recorded', () => {
    const with3 = likelihoodOf(
      inspected([
        [0, 1000, 30],
        [0, 2000, 20],
        [0, 500, 400],
      ]),
      [1, 0, Number.NaN],
    )
    expect(Math.abs(best(with3) - Math.log(30 / 970 / (20 / 1980)))).toBeLessThan(STEP)
  })
})

describe('Evidence', () => {
  const log = likelihoodOf(
    inspected([
      [0, 1000, 30],
      [0, 20_000, 200],
    ]),
    [1, 0],
  )

  it('is strong where the effect is plain', () => {
    expect(evidenceOf(log).log).toBeGreaterThan(5)
  })

  it('speaks against a cause where there is no effect', () => {
    const none = likelihoodOf(
      inspected([
        [0, 10_000, 100],
        [0, 10_000, 100],
      ]),
      [1, 0],
    )
    expect(evidenceOf(none).log).toBeLessThan(-2)
  })

  it('is of the most likely size', () => {
    expect(evidenceOf(log).b).toBe(best(log))
  })
})

describe('A stretch of bins', () => {
  const measure: Measure = {
    form: 'measure',
    kind: 'measure',
    name: 'silicon',
    of: 'row',
    values: new Float64Array(0),
  }
  const [low, high] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY]

  it.each([
    [0, 1, low, 10],
    [1, 2, 10, 20],
    [2, 3, 20, 30],
    [0, 3, low, 30],
    [1, 4, 10, high],
    [0, 4, low, high],
  ])('from bin %i until before bin %i reaches from %d until %d', (from, until, start, end) => {
    const { part } = between(measure, 0, [10, 20, 30], { from, until })
    expect(part).toMatchObject({ from: start, until: end })
  })
})

describe('Clustering', () => {
  it('is told in its size, and to the grouping it comes from', () => {
    const random = randomOf(5, 'clusters')
    const heat = Array.from({ length: 300 }, () => random.normal(0, 0.4))
    const rows = Array.from({ length: 3000 }, (_, r): [number, number, number] => {
      const chance = 0.03 * Math.exp(heat[r % 300]!)
      let bad = 0
      for (let n = 0; n < 60; n++) if (random.chance(chance)) bad++
      return [0, 60, bad]
    })
    const table = inspected(rows)
    const looked = { ...table, strata: 1 }
    const base = table.castings.map(() => table.defective.reduce((a, b) => a + b, 0) / 180_000)
    const groupings = groupingsOf(atomsOf(table), [
      { of: 'row', codes: Int32Array.from(rows, (_, r) => r % 300), groups: 300 },
      { of: 'row', codes: Int32Array.from(rows, (_, r) => Math.floor(r / 30)), groups: 100 },
    ])
    const [ofHeat, ofHour] = new Noise(looked, groupings, base).components(base)
    expect(Math.sqrt(ofHeat!)).toBeGreaterThan(0.3)
    expect(Math.sqrt(ofHeat!)).toBeLessThan(0.5)
    expect(Math.sqrt(ofHour!)).toBeLessThan(0.1)
  })
})

describe('Exposure', () => {
  const factors: Factor[] = [
    {
      form: 'levels',
      kind: 'machine',
      name: 'oven',
      of: 'row',
      codes: Int32Array.of(0, 1, -1),
      levels: ['1', '2'],
    },
    {
      form: 'measure',
      kind: 'measure',
      name: 'silicon',
      of: 0,
      values: Float64Array.of(1.9, 2.4, Number.NaN),
    },
  ]
  const makeup = {
    start: Int32Array.of(0, 2, 4, 5),
    unit: Int32Array.of(0, 1, 1, 2, 2),
    part: Float64Array.of(0.25, 0.75, 0.8, 0.2, 1),
  }
  const atoms = atomsOf({
    ...inspected([
      [0, 1, 0],
      [0, 1, 0],
      [0, 1, 0],
    ]),
    makeups: [makeup],
  })
  const of = (parts: Parameters<Exposures['of']>[0]) => [
    ...new Exposures(atoms, factors).of(parts, new Float64Array(3)),
  ]
  const high = { factor: 1, is: 'between', from: 2, until: Number.POSITIVE_INFINITY } as const

  it('of a commingled load is the part that has it, of what is known', () => {
    expect(of([high])).toEqual([0.75, 1, Number.NaN])
  })

  it('of two conditions is not known where one is not, unless the other surely does not hold', () => {
    expect(of([{ factor: 0, is: 'level', level: 0 }, high])).toEqual([0.75, 0, Number.NaN])
  })

  it('to a scan that is missing counts what nobody recorded', () => {
    expect(of([{ factor: 0, is: 'missing' }])).toEqual([0, 0, 1])
    expect(of([{ factor: 1, is: 'missing' }])).toEqual([0, 0.2, 1])
  })
})

describe('What explains the defects', { timeout: 60_000 }, () => {
  it('is found where a machine does it, with its effect', () => {
    const { inspected: table, factors, clusters, hidden } = runOf(5, 6000, true)
    const groups = groupsOf(explain(table, factors, clusters))
    expect(groups[0]!.members.map(({ candidate }) => candidate.named)).toContain(hidden!.named)
    expect(groups[0]!.times.low).toBeLessThan(hidden!.times * 1.5)
    expect(groups[0]!.times.high).toBeGreaterThan(hidden!.times / 1.5)
  })

  it('is nothing recorded where nothing does it, though defects come in clusters', () => {
    const { inspected: table, factors, clusters } = runOf(5, 6000, false)
    expect(nothingOf(explain(table, factors, clusters))).toBeGreaterThan(0.5)
  })

  it('holds back where there is next to nothing to go by', () => {
    const factor: Factor = {
      form: 'levels',
      kind: 'machine',
      name: 'oven',
      of: 'row',
      codes: Int32Array.of(0, 1),
      levels: ['1', '2'],
    }
    for (const rows of [
      [
        [0, 100, 1],
        [0, 100, 0],
      ],
      [
        [0, 100, 0],
        [1, 100, 3],
      ],
      [
        [0, 100, 99],
        [0, 100, 100],
      ],
    ] as [number, number, number][][]) {
      const found = explain(inspected(rows), [factor], [])
      expect(nothingOf(found)).toBeGreaterThan(0.2)
      expect(
        groupsOf(found)
          .flatMap(({ times }) => Object.values(times))
          .some(Number.isNaN),
      ).toBe(false)
    }
  })

  it('does not weigh what is the same for all', () => {
    const factor: Factor = {
      form: 'levels',
      kind: 'machine',
      name: 'line',
      of: 'row',
      codes: Int32Array.of(0, 0),
      levels: ['1'],
    }
    expect(
      explain(
        inspected([
          [0, 100, 10],
          [0, 100, 1],
        ]),
        [factor],
        [],
      ).leaders,
    ).toEqual([])
  })
})
