import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { layered, type Ops, open, set } from '../../services/metal/ledger/writing.ts'
import { Ledger } from '../../services/metal/ledger.ts'
import { runs } from '../runs.ts'

const CLOSE = 1e-12

/** One thing done to a bay: a truck of a lot, a draw, or so much found in it. */
const deed = fc.record({
  what: fc.constantFrom('truck', 'truck', 'draw', 'draw', 'draw', 'found'),
  lot: fc.nat(2),
  kg: fc.integer({ min: 1, max: 30 }),
  picks: fc.array(fc.nat(10_000), { minLength: 30, maxLength: 30 }),
})

describe('A bay in which nothing mixes', () => {
  it('gives each draw a share between the ends, whichever of what lay there was taken', () => {
    fc.assert(
      fc.property(fc.array(deed, { minLength: 1, maxLength: 20 }), (deeds) => {
        const ledger = new Ledger()
        const bay = ledger.vessel()
        const lots = [0, 1, 2].map(() => ledger.leaf())
        // Kilograms that lie in the bay, each with the lot it is of.
        const lying: number[] = []
        const draws: { slot: number; shares: number[] }[] = []
        const take = (kg: number, picks: number[]) =>
          Array.from({ length: kg }, (_, k) => lying.splice(picks[k]! % lying.length, 1)[0]!)
        for (const [k, { what, lot, kg, picks }] of deeds.entries()) {
          const ops: Ops = [...open(bay), ...layered()]
          if (what === 'truck') {
            ops.push(lots[lot]!, kg)
            for (let each = 0; each < kg; each++) lying.push(lot)
          } else if (lying.length > 0) {
            const gone = Math.min(kg, lying.length)
            const taken = take(gone, picks)
            if (what === 'found') ops.push(...set(lying.length))
            else {
              const slot = ledger.slot()
              ops.push(slot, -gone)
              draws.push({
                slot,
                shares: lots.map((_, l) => taken.filter((one) => one === l).length / gone),
              })
            }
          } else continue
          ledger.write(ledger.cell({ at: 60_000 * k, tie: 0, vessel: bay }), 0, ops)
        }
        for (const [l, lot] of lots.entries()) {
          const spanOf = ledger.follow([lot])
          for (const { slot, shares } of draws) {
            const { low, best, high } = spanOf(slot)
            expect(shares[l]).toBeGreaterThanOrEqual(low - CLOSE)
            expect(shares[l]).toBeLessThanOrEqual(high + CLOSE)
            expect(best).toBeGreaterThanOrEqual(low - CLOSE)
            expect(best).toBeLessThanOrEqual(high + CLOSE)
          }
        }
      }),
      runs(2000),
    )
  })
})

describe('A bay that is taken from in one order', () => {
  const front = (lying: number[], kg: number) => lying.splice(0, kg)
  const back = (lying: number[], kg: number) => lying.splice(Math.max(0, lying.length - kg), kg)

  it.each([
    ['first', 'anyhow', front],
    ['last', 'anyhow', back],
    ['last', 'first in first out', front],
    ['first', 'last in first out', back],
  ] as const)(
    'gives each draw, where %s is asked and said is %s, what lay there',
    (order, said, take) => {
      fc.assert(
        fc.property(fc.array(deed, { minLength: 1, maxLength: 20 }), (deeds) => {
          const ledger = new Ledger()
          const [bay, furnace] = [ledger.vessel(), ledger.vessel()]
          const lots = [0, 1, 2].map(() => ledger.leaf())
          const lying: number[] = []
          // What lay in the bay goes on into a furnace, where it mixes.
          let [bath, melted] = [lots.map(() => 0), 0]
          const found: { slot: number; shares: number[] }[] = []
          for (const [k, { what, lot, kg }] of deeds.entries()) {
            const ops: Ops = [...open(bay), ...layered(0, said)]
            let melt: Ops = []
            if (what === 'truck') {
              ops.push(lots[lot]!, kg)
              for (let each = 0; each < kg; each++) lying.push(lot)
            } else if (lying.length > 0) {
              const taken = take(lying, Math.min(kg, lying.length))
              if (what === 'found') ops.push(...set(lying.length))
              else {
                const [slot, tap] = [ledger.slot(), ledger.slot()]
                ops.push(slot, -taken.length)
                const shares = lots.map((_, l) => taken.filter((one) => one === l).length)
                found.push({ slot, shares: shares.map((grams) => grams / taken.length) })
                melted += taken.length
                bath = bath.map((grams, l) => grams + shares[l]!)
                const out = Math.ceil(melted / 2)
                melt = [...open(furnace), slot, taken.length, tap, -out]
                found.push({ slot: tap, shares: bath.map((grams) => grams / melted) })
                bath = bath.map((grams) => (grams * (melted - out)) / melted)
                melted -= out
              }
            } else continue
            const at = 60_000 * k
            ledger.write(ledger.cell({ at, tie: 0, vessel: bay }), 0, ops)
            if (melt.length > 0)
              ledger.write(ledger.cell({ at: at + 1000, tie: 1, vessel: furnace }), 0, melt)
          }
          for (const [l, lot] of lots.entries()) {
            const spanOf = ledger.follow([lot], { doubt: true })
            for (const { slot, shares } of found) {
              const span = spanOf(slot)
              expect(span.likely!.orders?.[order] ?? span.likely!.mixed).toBeCloseTo(shares[l]!, 9)
            }
          }
        }),
        runs(1000),
      )
    },
  )
})

// The arithmetic stands in test/golden/layers.md, by number.
describe('What a draw from a bay can be', () => {
  class Bay {
    readonly ledger = new Ledger()
    readonly #bay = this.ledger.vessel()
    #minutes = 0

    does(ops: Ops, turnover = 0): void {
      const cell = this.ledger.cell({ at: 60_000 * ++this.#minutes, tie: 0, vessel: this.#bay })
      this.ledger.write(cell, 0, [...open(this.#bay), ...layered(turnover), ...ops])
    }

    draw(amount: number, turnover = 0): number {
      const slot = this.ledger.slot()
      this.does([slot, -amount], turnover)
      return slot
    }
  }
  const ends = (bay: Bay, lot: number, slot: number) => {
    const { low, best, high } = bay.ledger.follow([lot])(slot)
    return [low, best, high].map((share) => Math.round(1000 * share) / 1000)
  }

  it('1: is none or all of it where there is enough of both', () => {
    const bay = new Bay()
    const [a, b] = [bay.ledger.leaf(), bay.ledger.leaf()]
    bay.does([a, 40, b, 60])
    expect(ends(bay, a, bay.draw(20))).toEqual([0, 0.4, 1])
  })

  it('2: is no more than there was, and no less than the rest leaves', () => {
    const bay = new Bay()
    const [a, b] = [bay.ledger.leaf(), bay.ledger.leaf()]
    bay.does([a, 40, b, 60])
    const [first, second] = [bay.draw(80), bay.draw(20)]
    expect(ends(bay, a, first)).toEqual([0.25, 0.4, 0.5])
    expect(ends(bay, a, second)).toEqual([0, 0.4, 1])
  })

  it('3: ends when the bay is emptied', () => {
    const bay = new Bay()
    const [a, b] = [bay.ledger.leaf(), bay.ledger.leaf()]
    bay.does([a, 40])
    bay.does(set(0))
    bay.does([b, 60])
    expect(ends(bay, a, bay.draw(20))).toEqual([0, 0, 0])
    expect(ends(bay, b, bay.draw(20))).toEqual([1, 1, 1])
  })

  it('4: ends when as many fulls have come as the plant says', () => {
    const bay = new Bay()
    const [a, b] = [bay.ledger.leaf(), bay.ledger.leaf()]
    bay.does([a, 40], 2)
    bay.draw(30, 2)
    for (let truck = 0; truck < 2; truck++) {
      bay.does([b, 30], 2)
      expect(ends(bay, a, bay.draw(30, 2))[2]).toBeCloseTo(1 / 3, 3)
    }
    bay.does([b, 30], 2)
    expect(ends(bay, a, bay.draw(30, 2))[2]).toBe(0)
  })
})
