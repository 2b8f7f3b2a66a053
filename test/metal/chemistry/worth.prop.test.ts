import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { runs } from '../../runs.ts'
import { build, plants } from '../plants.ts'

const doubtful = plants({ circles: false, versions: false, doubt: true })
const percent = fc.double({ min: 0, max: 1, noNaN: true })

describe('What lots are worth, followed together', () => {
  it('is Σ share · worth at best, within its ends, and never over the highest worth', () => {
    fc.assert(
      fc.property(
        doubtful,
        percent,
        percent,
        fc.double({ min: 0, max: 0.5, noNaN: true }),
        (plant, a, b, part) => {
          const { ledger, slot } = build(plant)
          const values = new Map([
            [slot(1), a],
            [slot(2), b],
          ])
          const worth = new Map(
            [...values].map(([leaf, best]) => [
              leaf,
              { best, low: best * (1 - part), high: Math.min(1, best * (1 + part)) },
            ]),
          )
          const singly = [...values].map(([leaf, value]) => {
            const span = ledger.follow([leaf])
            const spans = Array.from({ length: plant.slots }, (_, s) => span(slot(s)))
            return { value, spans }
          })
          const together = ledger.follow([...values.keys()], { worth })
          for (let s = 0; s < plant.slots; s++) {
            const { best, low, high } = together(slot(s))
            const sum = singly.reduce(
              (total, { value, spans }) => total + value * spans[s]!.best,
              0,
            )
            expect(Math.abs(best - sum)).toBeLessThanOrEqual(1e-12)
            expect(low).toBeLessThanOrEqual(best + 1e-12)
            expect(high).toBeGreaterThanOrEqual(best - 1e-12)
            expect(high).toBeLessThanOrEqual(Math.min(1, Math.max(a, b) * (1 + part)) + 1e-12)
          }
        },
      ),
      runs(2000),
    )
  })
})
