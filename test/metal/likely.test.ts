import { describe, expect, it } from 'vitest'
import { type Ops, open, set, shares, weighed } from '../../services/metal/ledger/writing.ts'
import { Ledger } from '../../services/metal/ledger.ts'

const KG = 1000
const HOUR = 3_600_000
const LOSS = 7

/** Furnaces of one plant, each with 400 kg of heel; of each ton charged `came` of it comes, and the book does not know. */
class Shop {
  readonly ledger = new Ledger()
  readonly #came: number
  /** What a furnace truly holds. Unit: kg. */
  readonly #holds = new Map<number, number>()
  #hours: number
  #ties = 0

  constructor(came: number, hours = 0) {
    this.#came = came
    this.#hours = hours
  }

  furnace(): number {
    const furnace = this.ledger.vessel()
    this.#holds.set(furnace, 0)
    this.#does(furnace, [...set(0, 0), ...set(400 * KG, 30 * KG, 10 * KG)])
    this.#holds.set(furnace, 400)
    return furnace
  }

  /** A ton charged of a slot, and a ton tapped; gives the slot of the tap. */
  heat(furnace: number, charged: number, gauged: boolean, cause = LOSS): number {
    this.#hours += 1
    const heel = this.#holds.get(furnace)!
    const tap = this.ledger.slot()
    this.#does(furnace, [
      ...(gauged ? set(Math.round(heel * KG), 90 * KG, 10 * KG) : []),
      ...weighed({ single: 0.002, scale: 1, shared: 0.005 }),
      ...shares(0.01, cause),
      ...[charged, 1000 * KG],
      ...weighed({ single: 0.002, scale: 2, shared: 0.005 }),
      ...[tap, -1000 * KG],
    ])
    this.#holds.set(furnace, heel + 1000 * this.#came - 1000)
    return tap
  }

  #does(furnace: number, ops: Ops): void {
    const cell = this.ledger.cell({ at: this.#hours * HOUR, tie: this.#ties++, vessel: furnace })
    this.ledger.write(cell, 0, [...open(furnace), ...ops])
  }

  /** Truth and answer of what a lot charged once comes to in so many further heats. */
  washedOut(furnace: number, heats: number, beside?: number): { truly: number; tap: number } {
    const [lot, other] = [this.lot, this.other]
    let share = 0
    let tap = 0
    for (let i = 0; i <= heats; i++) {
      if (beside !== undefined) this.heat(beside, other, true)
      const there = this.#holds.get(furnace)!
      const came = 1000 * this.#came
      share = (share * there + (i === 0 ? came : 0)) / (there + came)
      tap = this.heat(furnace, i === 0 ? lot : other, false)
    }
    return { truly: share, tap }
  }

  readonly lot = this.ledger.leaf()
  readonly other = this.ledger.leaf()

  of(slot: number) {
    return this.ledger.follow([this.lot], { doubt: true })(slot)
  }
}

describe('What a share likely is', () => {
  it('is the best where nothing was gauged and nothing lies in layers', () => {
    const shop = new Shop(0.98)
    const { tap } = shop.washedOut(shop.furnace(), 3)
    const { best, likely } = shop.of(tap)
    expect(likely!.mixed).toBeCloseTo(best, 12)
    expect(likely).toMatchObject({ left: 1 })
    expect(likely!.orders).toBeUndefined()
  })

  it('rests on what gauges of another furnace tell of what came of charges', () => {
    const shop = new Shop(0.99)
    const [gauged, other] = [shop.furnace(), shop.furnace()]
    for (let i = 0; i < 10; i++) shop.heat(gauged, shop.other, true)
    const { truly, tap } = shop.washedOut(other, 12, gauged)
    const { best, likely } = shop.of(tap)
    // 13 heats lost 10 kg each of 400 kg of heel, of which the book knows nothing.
    expect(best / truly).toBeGreaterThan(2)
    expect(Math.abs(likely!.mixed / truly - 1)).toBeLessThan(0.2)
    expect(likely!.left).toBeLessThan(0.6)
  })

  it('takes nothing from a gauge of another cause, of another week, or off by more than weighing', () => {
    const shop = new Shop(0.99)
    const [gauged, furnace] = [shop.furnace(), shop.furnace()]
    for (let i = 0; i < 10; i++) shop.heat(gauged, shop.other, true, LOSS + 1)
    const first = shop.of(shop.washedOut(furnace, 3).tap)
    expect(first.likely!.mixed).toBeCloseTo(first.best, 12)
    expect(first.likely!.left).toBe(1)

    const next = new Shop(0.99, 6 * 24 + 12)
    const [before, after] = [next.furnace(), next.furnace()]
    for (let i = 0; i < 11; i++) next.heat(before, next.other, true)
    // 1970 began on a Thursday: the week turns at its 168th hour.
    for (let i = 0; i < 24; i++) next.heat(after, next.other, false)
    const second = next.of(next.washedOut(after, 3).tap)
    expect(second.likely!.left).toBe(1)

    const wrong = new Shop(0.9)
    const [off, beside] = [wrong.furnace(), wrong.furnace()]
    wrong.heat(off, wrong.other, true)
    wrong.heat(off, wrong.other, true)
    const third = wrong.of(wrong.washedOut(beside, 1).tap)
    expect(third.likely!.mixed).toBeCloseTo(third.best, 12)
    expect(third.likely!.left).toBe(1)
  })
})
