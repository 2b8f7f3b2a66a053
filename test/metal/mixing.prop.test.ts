import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { EMPTIED, Mixing } from '../../services/metal/castings/mixing.ts'
import { shareOut } from '../../services/metal/castings/share-out.ts'
import type { Ops } from '../../services/metal/ledger/writing.ts'
import { runs } from '../runs.ts'

describe('a total shared out', () => {
  it('is whole, adds up, keeps to proportion within one, and exceeds no weight that holds it', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 1_000_000_000 }), { minLength: 1, maxLength: 8 }),
        fc.integer({ min: 0, max: 1_000_000_000 }),
        (weights, total) => {
          const parts = shareOut(total, weights)
          const sum = weights.reduce((a, b) => a + b, 0)
          expect(parts.reduce((a, b) => a + b, 0)).toBe(total)
          for (const [i, part] of parts.entries()) {
            expect(Number.isInteger(part)).toBe(true)
            const exact = sum > 0 ? (total * weights[i]!) / sum : total / weights.length
            expect(Math.abs(part - exact)).toBeLessThan(1 + 1e-6)
            if (sum >= total) expect(part).toBeLessThanOrEqual(sum > 0 ? weights[i]! : total)
          }
        },
      ),
      runs(2000),
    )
  })
})

describe('the walk back to the leaves', () => {
  it('finds what a sweep of the whole ledger finds', () => {
    const part = fc.tuple(fc.nat(1000), fc.integer({ min: 1, max: 50 }))
    const mixes = fc.array(
      fc.array(fc.array(part, { minLength: 1, maxLength: 4 }), { minLength: 1, maxLength: 3 }),
      {
        minLength: 1,
        maxLength: 12,
      },
    )
    fc.assert(
      fc.property(mixes, (list) => {
        const mixing = new Mixing()
        // Slot 0 is what is unrecorded.
        const slots = [0, mixing.leaf(101), mixing.leaf(102), mixing.leaf(103)]
        for (const [i, compositions] of list.entries()) {
          const mix = mixing.mix({ at: 1000 * i, tie: i })
          const ops: Ops = []
          const made: number[] = []
          for (const [k, parts] of compositions.entries()) {
            if (k > 0) ops.push(...EMPTIED)
            let total = 0
            for (const [n, amount] of parts) {
              ops.push(slots[n % slots.length]!, amount)
              total += amount
            }
            made.push(mixing.slot(mix))
            ops.push(made.at(-1)!, -total)
          }
          mixing.write(mix, ops)
          slots.push(...made)
        }
        const asked = slots.at(-1)!
        const { rest } = mixing.ledger.backward([[asked, 1]])
        const leaves = mixing.leavesOf([[asked, 1]])
        for (const slot of slots) expect(leaves.get(slot) ?? 0).toBeCloseTo(rest[slot]!, 12)
        expect(
          [...leaves.keys()].every((slot) => slot === 0 || mixing.pourOf(slot) !== undefined),
        ).toBe(true)
      }),
      runs(2000),
    )
  })
})
