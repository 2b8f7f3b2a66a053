import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { barParts, recallBar, recallSentence } from '../../services/desk/drawings/recall-bar.ts'

const PARTS = ['KEPT_APART', 'SCRAP', 'HELD', 'RETURNED', 'DESTROYED', 'SOLD', 'NOT_FOUND']

describe('The bar of a recall', () => {
  it('adds up to all that was said and all that was not', () => {
    const part = fc.record({ became: fc.constantFrom(...PARTS), castings: fc.nat(100_000) })
    fc.assert(
      fc.property(fc.array(part), fc.nat(100_000), (parts, notKnown) => {
        const said = parts.reduce((sum, { castings }) => sum + castings, 0)
        const castings = said + notKnown
        const shown = barParts({ castings, parts, notKnown })
        expect(shown.reduce((sum, one) => sum + one.castings, 0)).toBe(castings)
      }),
    )
  })

  it('is drawn by texture, lengths as the castings, and told in the same numbers', () => {
    const found = {
      castings: 1_000,
      parts: [
        { became: 'KEPT_APART', castings: 250 },
        { became: 'RETURNED', castings: 100 },
        { became: 'SOLD', castings: 50 },
      ],
      notKnown: 600,
    }
    const svg = recallBar(found, 1_002)
    const lengths = [...svg.matchAll(/<rect class="(\w+)" x="[\d.]+" y="1" width="([\d.]+)"/g)]
    expect(lengths.map(([, texture, length]) => [texture, Number(length)])).toEqual([
      ['solid', 250],
      ['hatched', 100],
      ['dotted', 50],
      ['empty', 600],
    ])
    expect(recallSentence(found)).toBe(
      'Of 1,000 castings: 250 found, 100 sent back or destroyed, 50 beyond reach, 600 still to find.',
    )
  })
})
