import { describe, expect, it } from 'vitest'
import { randomOf } from '../../services/plant/random.ts'
import { compareRates, type Looked } from '../../services/stats/rates/compare.ts'
import { steadied } from '../../services/stats/rates/steady.ts'

const looked = (rows: [group: number, stratum: number, castings: number, defective: number][]) =>
  rows.map(
    ([group, stratum, castings, defective], i): Looked => ({
      group,
      stratum,
      cluster: i,
      castings,
      defective,
    }),
  )

describe('Groups side by side', () => {
  it('have their own counts and the overall ones', () => {
    const { overall, rows } = compareRates(
      looked([
        [0, 0, 100, 5],
        [1, 0, 300, 6],
      ]),
      2,
    )
    expect(overall).toMatchObject({ castings: 400, defective: 11 })
    expect(rows.map((row) => row.rate.value)).toEqual([0.05, 0.02])
  })

  it('are equal once the mix is taken out, when each stratum fails alike', () => {
    // Group 0 makes mostly stratum 0, which fails ten times as often.
    const { rows } = compareRates(
      looked([
        [0, 0, 900, 90],
        [0, 1, 100, 1],
        [1, 0, 100, 10],
        [1, 1, 900, 9],
      ]),
      2,
    )
    expect(rows[0]!.rate.value / rows[1]!.rate.value).toBeGreaterThan(4)
    expect(rows[0]!.adjusted.value).toBeCloseTo(rows[1]!.adjusted.value, 12)
    expect(rows[0]!.times!.value).toBeCloseTo(1, 12)
    expect(rows[0]!.chanceAlone).toBeCloseTo(1, 6)
  })

  it('say nothing against a reference they share no stratum with', () => {
    const { rows } = compareRates(
      looked([
        [0, 0, 100, 5],
        [1, 1, 100, 9],
      ]),
      2,
      0,
    )
    expect(rows[0]).not.toHaveProperty('times')
    expect(rows[1]).not.toHaveProperty('times')
  })

  it('with none bad, all bad or nothing looked at come without NaN where something was looked at', () => {
    for (const defective of [0, 100]) {
      const { rows } = compareRates(
        looked([
          [0, 0, 100, defective],
          [1, 0, 100, defective],
        ]),
        2,
      )
      for (const row of rows) {
        expect(Object.values(row.rate).every(Number.isFinite)).toBe(true)
        expect(Object.values(row.steadied).every(Number.isFinite)).toBe(true)
        expect(row.chanceAlone).toBeUndefined()
      }
    }
  })

  it('that only chance tells apart are told apart no more often than said', () => {
    const random = randomOf(2026, 'rates')
    let told = 0
    const runs = 400
    for (let run = 0; run < runs; run++) {
      const rows: Looked[] = []
      for (let cluster = 0; cluster < 120; cluster++) {
        // Ladles differ; groups do not.
        const share = 0.02 + 0.06 * random.unit() ** 2
        let defective = 0
        for (let i = 0; i < 50; i++) if (random.unit() < share) defective++
        rows.push({ group: cluster % 6, stratum: 0, cluster, castings: 50, defective })
      }
      if (compareRates(rows, 6).rows.some((row) => row.chanceAlone! < 0.05)) told++
    }
    expect(told / runs).toBeLessThan(0.08)
  })
})

describe('A steadied rate', () => {
  it('is the common one where groups differ by no more than chance', () => {
    const found = steadied([
      { castings: 100, defective: 5 },
      { castings: 200, defective: 10 },
    ])
    expect(found.map(({ value }) => value)).toEqual([0.05, 0.05])
  })

  it('moves a small group more than a large one', () => {
    const rates = steadied([
      { castings: 10_000, defective: 1000 },
      { castings: 20, defective: 4 },
      { castings: 10_000, defective: 200 },
    ]).map(({ value }) => value)
    expect(rates[0]).toBeCloseTo(0.1, 2)
    expect(rates[2]).toBeCloseTo(0.02, 2)
    expect(rates[1]).toBeLessThan(0.2)
    expect(rates[1]).toBeGreaterThan(0.06)
  })
})
