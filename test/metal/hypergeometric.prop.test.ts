import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { hypergeometric } from '../../services/metal/castings/hypergeometric.ts'
import { hypergeometric as probability } from '../../services/stats/distributions.ts'
import { runs } from '../runs.ts'

describe('Drawing without putting back', () => {
  it('gives the table worked by hand', () => {
    // 5 of 50 are wanted, 10 are drawn: C(45, 10)/C(50, 10) = 3190187286/10272278170 for none.
    const { first, chances } = hypergeometric(5, 45, 10)
    expect(first).toBe(0)
    expect(chances[0]).toBeCloseTo(3_190_187_286 / 10_272_278_170, 12)
    expect(chances[4]! + chances[5]!).toBeCloseTo((5 * 8_145_060 + 1_221_759) / 10_272_278_170, 12)
  })

  it('is what factorials of a library give where counts are whole, and leaves out nothing that could be seen', () => {
    const counts = fc.nat(400)
    fc.assert(
      fc.property(counts, counts, fc.nat(60), (own, others, taken) => {
        fc.pre(own + others >= taken && taken > 0)
        const { first, chances } = hypergeometric(own, others, taken)
        for (let i = 0; i <= taken; i++) {
          const known = probability(i, own + others, own, taken)
          expect(Math.abs((chances[i - first] ?? 0) - known)).toBeLessThan(1e-9 * known + 1e-12)
        }
      }),
      runs(500),
    )
  })

  it('adds up to 1 and keeps the mean, also of broken counts', () => {
    const counts = fc.double({ min: 0, max: 80, noNaN: true })
    fc.assert(
      fc.property(counts, counts, fc.nat(60), (own, others, taken) => {
        fc.pre(Math.round(own + others) >= taken && own + others > 0.5)
        const { first, chances } = hypergeometric(own, others, taken)
        let [sum, mean] = [0, 0]
        for (const [i, chance] of chances.entries()) {
          expect(chance).toBeGreaterThanOrEqual(0)
          sum += chance
          mean += (first + i) * chance
        }
        expect(sum).toBeCloseTo(1, 6)
        expect(mean).toBeCloseTo((taken * own) / (own + others), 5)
      }),
      runs(2000),
    )
  })
})
