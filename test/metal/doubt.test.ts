import { describe, expect, it } from 'vitest'
import { chanceAtLeast, likelyEnds, normalBelow, sureEnds } from '../../services/metal/doubt.ts'
import { type Ops, open, set, shares, weighed } from '../../services/metal/ledger/writing.ts'
import { Ledger } from '../../services/metal/ledger.ts'
import { SyntheticPlant } from '../bench/plant-ledger.ts'

const KG = 1000

/** A ledger of cells that mix from nothing, one a minute. */
class Works {
  readonly ledger = new Ledger()
  #minutes = 0

  made(ops: Ops, vessel?: number): void {
    const at = 60_000 * ++this.#minutes
    const cell = this.ledger.cell(vessel === undefined ? { at, tie: 0 } : { at, tie: 0, vessel })
    this.ledger.write(cell, 0, vessel === undefined ? ops : [...open(vessel), ...ops])
  }

  spread(of: number, slot: number): number {
    return this.ledger.follow([of], { doubt: true })(slot).spread
  }
}

const own = (single: number) => weighed({ single, scale: 0, shared: 0 })

// The arithmetic stands in test/golden/doubt.md, by number.
describe('The doubt of a share', () => {
  it('1: is that of a quotient where two lots are weighed by themselves', () => {
    const works = new Works()
    const { ledger } = works
    const [a, b, tap] = [ledger.leaf(), ledger.leaf(), ledger.slot()]
    works.made([...own(0.02), a, 100 * KG, b, 300 * KG, tap, -400 * KG])
    expect(works.spread(a, tap) / 0.0053033).toBeGreaterThan(0.8)
    expect(works.spread(a, tap) / 0.0053033).toBeLessThan(1.2)
  })

  it('2: is none where one scale is off for both', () => {
    const works = new Works()
    const { ledger } = works
    const [a, b, tap] = [ledger.leaf(), ledger.leaf(), ledger.slot()]
    const scale = weighed({ single: 0, scale: 7, shared: 0.05 })
    works.made([...scale, a, 100 * KG, b, 300 * KG, tap, -400 * KG])
    expect(works.spread(a, tap)).toBeLessThan(1e-6)
  })

  it('3: is that of the scale where only one was weighed on it, and exactly so', () => {
    const works = new Works()
    const { ledger } = works
    const [a, b, tap] = [ledger.leaf(), ledger.leaf(), ledger.slot()]
    works.made([
      ...weighed({ single: 0, scale: 7, shared: 0.0512 }),
      a,
      100 * KG,
      ...own(0),
      b,
      300 * KG,
      tap,
      -400 * KG,
    ])
    expect(works.spread(a, tap)).toBeCloseTo(0.0096, 6)
  })

  it('4: takes the gauge of a heel', () => {
    const works = new Works()
    const { ledger } = works
    const furnace = ledger.vessel()
    const [a, b, first, tap] = [ledger.leaf(), ledger.leaf(), ledger.slot(), ledger.slot()]
    works.made([...own(0), a, 500 * KG, first, -400 * KG], furnace)
    works.made(
      [...set(100 * KG, 30 * KG, 10.24 * KG), ...own(0), b, 300 * KG, tap, -400 * KG],
      furnace,
    )
    expect(works.spread(a, tap)).toBeCloseTo(0.0192, 5)
  })

  it('5: is shared by all that was drawn from a lot of unsaid yield', () => {
    const works = new Works()
    const { ledger } = works
    const [a, b, c] = [ledger.leaf(), ledger.leaf(), ledger.leaf()]
    const [one, other, both] = [ledger.slot(), ledger.slot(), ledger.slot()]
    const exact = own(0)
    for (const [rest, charge] of [
      [b, one],
      [c, other],
    ] as const) {
      const lines = [...shares(0.0512, 3), a, 100 * KG, rest, 300 * KG]
      works.made([...exact, ...lines, charge, -400 * KG])
    }
    works.made([...exact, one, 400 * KG, other, 400 * KG, both, -800 * KG])
    expect(works.spread(a, one)).toBeCloseTo(0.0096, 6)
    expect(works.spread(a, both)).toBeCloseTo(0.0096, 6)
  })

  it('bounds what a book drifts by a third of a heel, or by a tenth of the bath before it', () => {
    const works = new Works()
    const { ledger } = works
    const [a, b] = [ledger.leaf(), ledger.leaf()]
    const heels = [50, 600].map((heel) => {
      const furnace = ledger.vessel()
      const [first, tap] = [ledger.slot(), ledger.slot()]
      // The charge is off by half, as is nothing else.
      works.made([...own(0.5), a, 1000 * KG, ...own(0), first, (heel - 1000) * KG], furnace)
      works.made([...own(0), b, 1000 * KG, tap, -400 * KG], furnace)
      return works.spread(a, tap)
    })
    // d (M / (M + Q)) = Q / (M + Q)² · dM
    expect(heels[0]! / ((1000 / 1050 ** 2) * 100)).toBeCloseTo(1, 2)
    expect(heels[1]! / ((1000 / 1600 ** 2) * 200)).toBeCloseTo(1, 2)
  })

  it('comes out the same whenever it is asked', () => {
    const works = new Works()
    const { ledger } = works
    const [a, b, tap] = [ledger.leaf(), ledger.leaf(), ledger.slot()]
    works.made([a, 100 * KG, b, 300 * KG, tap, -400 * KG])
    const first = works.spread(a, tap)
    works.spread(b, tap)
    expect(works.spread(a, tap)).toBe(first)
  })

  it('comes out the same on a long record, whatever was asked before', () => {
    const plant = () => {
      const made = new SyntheticPlant(3000)
      made.load()
      return made
    }
    const [asked, fresh] = [plant(), plant()]
    // The last without doubt, then the first, which is in all metal ever after.
    asked.ledger.follow([asked.lot(0, 2999)])
    asked.ledger.follow([asked.lot(0, 0)], { doubt: true })
    // What books are off by is kept before the metal of some heat among these; gauges soon make up for it.
    for (let heat = 1800; heat > 1500; heat -= 40) {
      for (let stream = 0; stream < 6; stream++) {
        const [one, other] = [asked, fresh].map(({ ledger }) => {
          const spanOf = ledger.follow([asked.lot(stream, heat)], { doubt: true })
          return spanOf(asked.pourSlot(heat, 0)).spread
        })
        expect(one).toBeGreaterThan(0)
        expect(one).toBe(other)
      }
    }
  })

  it('is the same beside a cell that another took the place of', () => {
    const spread = (once: boolean) => {
      const works = new Works()
      const { ledger } = works
      const furnace = ledger.vessel()
      const [a, b, first, tap] = [ledger.leaf(), ledger.leaf(), ledger.slot(), ledger.slot()]
      works.made([...own(0.5), a, 1000 * KG, ...own(0), first, -950 * KG], furnace)
      if (once) works.made([], furnace)
      works.made([...own(0), b, 1000 * KG, tap, -400 * KG], furnace)
      return works.spread(a, tap)
    }
    expect(spread(true)).toBe(spread(false))
  })
})

describe('What is said of a share', () => {
  const span = { best: 0.1, low: 0.08, high: 0.1, gap: 0, spread: 0.01 }

  it('widens what reports leave open by what weighing leaves in doubt', () => {
    const { low, high } = likelyEnds(span)
    // exp(1.96 × √(0.1² + 0.02²)) = 1.22126
    expect(high).toBeCloseTo(0.122126, 5)
    expect(low).toBeCloseTo(0.08 / 1.22126, 5)
    expect(likelyEnds({ ...span, high: 0.9 }).high).toBe(1)
    expect(sureEnds(span).high).toBeCloseTo(0.1 * Math.exp(4 * Math.hypot(0.1, 0.02)), 9)
    // Beyond e to the 1.5 a spread says no more.
    const tiny = { ...span, best: 1e-6, low: 0, high: 0 }
    expect(sureEnds(tiny).high).toBeCloseTo(1e-6 * Math.exp(4 * 1.5), 12)
  })

  it('is as likely over as under a little below its best value, the mean, and sure far from it', () => {
    // exp(−(0.1² + 0.02²) / 2) = 0.994813
    expect(chanceAtLeast(span, 0.0994813)).toBeCloseTo(0.5, 5)
    expect(chanceAtLeast(span, 0.05)).toBeGreaterThan(0.999)
    expect(chanceAtLeast(span, 0.2)).toBeLessThan(0.001)
    expect(chanceAtLeast({ ...span, best: 0 }, 0.1)).toBe(0)
  })

  it('may be one end or the other where reports leave it open', () => {
    const heel = { best: 0.3, low: 0, high: 1, gap: 0, spread: 0 }
    // Half a belief in the best, half that it comes whole in 3 of 10.
    expect(chanceAtLeast(heel, 0.1)).toBeCloseTo((1 + 0.3) / 2, 6)
    expect(chanceAtLeast(heel, 0.5)).toBeCloseTo((0 + 0.3) / 2, 6)
  })

  it('has a value for each order in which layers were taken, and no other', () => {
    const likely = { mixed: 0.3, left: 1, orders: { first: 0, last: 0.6 } }
    const bay = { best: 0.3, low: 0, high: 1, gap: 0, spread: 0, likely }
    const orders = { first: 0.7, mixed: 0.2, last: 0.1 }
    expect(chanceAtLeast(bay, 0.1, orders)).toBeCloseTo(0.2 + 0.1, 6)
    expect(chanceAtLeast(bay, 0.5, orders)).toBeCloseTo(0.1, 6)
    // Nobody knows of any order: each is as likely.
    expect(chanceAtLeast(bay, 0.1)).toBeCloseTo(2 / 3, 6)
    // exp(1.96 × 0.02) = 1.03998, exp(4 × 0.02) = 1.08329
    expect(likelyEnds(bay).low).toBe(0)
    expect(likelyEnds(bay).high).toBeCloseTo(0.6 * 1.03998, 4)
    expect(sureEnds({ ...bay, low: 0.1, high: 0.8 }).low).toBeCloseTo(0.1 / 1.08329, 5)
    expect(sureEnds({ ...bay, low: 0.1, high: 0.8 }).high).toBeCloseTo(0.8 * 1.08329, 5)
    // What the least and the most rule out, no order brings about.
    expect(likelyEnds({ ...bay, low: 0.1, high: 0.5 }).low).toBeCloseTo(0.1 / 1.03998, 4)
  })

  // Source: Abramowitz and Stegun, Handbook of Mathematical Functions (1964), table 26.1.
  it.each([
    [0, 0.5],
    [1, 0.841344746],
    [1.96, 0.9750021],
    [-2, 0.0227501],
    [3, 0.9986501],
  ])('takes the normal distribution at %s as the tables do', (z, below) => {
    expect(normalBelow(z)).toBeCloseTo(below, 6)
  })
})
