import fc from 'fast-check'
import { expect, it } from 'vitest'
import { compareRates, type Looked } from '../../services/stats/rates/compare.ts'
import { runs } from '../runs.ts'

/** Small counts, many of them none or all: where ratios and beta functions have their corners. */
const ROW = fc.record({
  group: fc.integer({ min: 0, max: 3 }),
  stratum: fc.integer({ min: 0, max: 1 }),
  cluster: fc.integer({ min: 0, max: 5 }),
  castings: fc.double({ min: 1e-6, max: 60, noNaN: true }),
  bad: fc.oneof(fc.constant(0), fc.constant(1), fc.double({ min: 1e-6, max: 1, noNaN: true })),
})

it('Groups side by side have no number that is none, and intervals that hold their value', () => {
  fc.assert(
    fc.property(fc.array(ROW, { minLength: 1, maxLength: 12 }), (rows) => {
      const looked = rows.map(
        ({ bad, castings, ...row }): Looked => ({ ...row, castings, defective: bad * castings }),
      )
      const groups = [...new Set(looked.map(({ group }) => group))]
      const numbered = looked.map((one) => ({ ...one, group: groups.indexOf(one.group) }))
      const { overall, rows: found } = compareRates(numbered, groups.length)
      for (const { rate, steadied, adjusted, times, chanceAlone } of [
        ...found,
        { rate: overall.rate, steadied: overall.rate, adjusted: overall.rate },
      ] as typeof found) {
        for (const { value, low, high } of [rate, steadied]) {
          expect([value, low, high].every(Number.isFinite)).toBe(true)
          expect(low).toBeLessThanOrEqual(value + 1e-9)
          expect(high).toBeGreaterThanOrEqual(value - 1e-9)
        }
        expect(Object.values(adjusted).every(Number.isFinite)).toBe(true)
        if (times) expect(Object.values(times).some(Number.isNaN)).toBe(false)
        if (chanceAlone !== undefined) expect(chanceAlone).toBeGreaterThanOrEqual(0)
      }
    }),
    runs(2000),
  )
})
