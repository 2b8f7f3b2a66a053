import { describe, expect, it } from 'vitest'
import {
  keep,
  type Ops,
  open,
  set,
  UNRECORDED,
  unknown,
} from '../../services/metal/ledger/writing.ts'
import { Ledger } from '../../services/metal/ledger.ts'
import { random, SyntheticPlant } from '../bench/plant-ledger.ts'

// The arithmetic stands in test/golden/heels.md, by number.

const MINUTE = 60_000

/** A ledger whose cells come in one a minute. */
class Works {
  readonly ledger = new Ledger()
  #minutes = 0

  made(vessel: number | undefined, ops: Ops, since = 0): number {
    const at = MINUTE * ++this.#minutes
    const cell = this.ledger.cell(vessel === undefined ? { at, tie: 0 } : { at, tie: 0, vessel })
    this.ledger.write(cell, since, vessel === undefined ? ops : [...open(vessel), ...ops])
    return cell
  }

  share(of: number, slot: number, how = {}): number {
    return this.ledger.forward([[of, 1]], how)[slot]!
  }
}

function furnaceWith(grams: number) {
  const works = new Works()
  const { ledger } = works
  const [furnace, a, b, tap] = [ledger.vessel(), ledger.leaf(), ledger.leaf(), ledger.slot()]
  works.made(furnace, [a, grams])
  return { works, ledger, furnace, a, b, tap }
}

describe('more in a vessel than its book says', () => {
  it('is of nobody knows what, or of what was there', () => {
    const { works, ledger, furnace, a, tap } = furnaceWith(100_000)
    const first = ledger.slot()
    works.made(furnace, [first, -80_000])
    works.made(furnace, [...set(60_000, 10_000), tap, -30_000])
    const { best, low, high, gap } = ledger.follow([a], { gapsFrom: 0 })(tap)
    expect([best, low, high]).toEqual([20 / 60, 20 / 60, 1].map((x) => expect.closeTo(x, 12)))
    expect(gap).toBeCloseTo(40 / 60, 12)
    expect(works.share(a, tap, { lean: 'high' })).toBe(1)
  })

  it('is never of what was there before it was emptied', () => {
    const { works, ledger, furnace, a, tap } = furnaceWith(100_000)
    works.made(furnace, set(0, 0))
    works.made(furnace, [...set(60_000, 10_000), tap, -30_000])
    expect(ledger.follow([a])(tap).high).toBe(0)
    expect(works.share(a, tap, { lean: 'high' })).toBe(0)
  })
})

describe('a heel that is the same every time', () => {
  const refilled = (kept: number, size: number, refills: number) => {
    const works = new Works()
    const { ledger } = works
    const [furnace, old, charge] = [ledger.vessel(), ledger.leaf(), ledger.leaf()]
    works.made(furnace, [old, size])
    const taps = Array.from({ length: refills }, () => {
      const tap = ledger.slot()
      works.made(furnace, [tap, kept - size, charge, size - kept])
      return tap
    })
    return { ledger, old, charge, taps }
  }

  it('leaves h to the k of the first heat after k refills (1)', () => {
    const { ledger, old, taps } = refilled(1_000_000, 3_000_000, 6)
    const shares = ledger.forward([[old, 1]])
    const left = [1, 0.333333, 0.111111, 0.037037, 0.012346, 0.004115]
    for (const [k, tap] of taps.entries()) expect(shares[tap]).toBeCloseTo(left[k]!, 6)
  })

  it.each([
    [1, 10, 3, 4],
    [2, 10, 3, 5],
    [1, 3, 5, 7],
    [5, 10, 7, 10],
  ])(
    'of %d in %d thins the first heat under 1 and 0.1 percent in %d and %d refills (1)',
    (kept, size, one, ten) => {
      const { ledger, old, taps } = refilled(1_000 * kept, 1_000 * size, 12)
      const shares = ledger.forward([[old, 1]])
      // An exact 1 % may come out a last bit below it.
      const under = (limit: number) => taps.findIndex((tap) => shares[tap]! < limit * (1 - 1e-12))
      expect(under(0.01)).toBe(one)
      expect(under(0.001)).toBe(ten)
    },
  )

  it('dilutes copper as worked by hand (1)', () => {
    const { ledger, old, charge, taps } = refilled(300_000, 1_000_000, 6)
    const copper = ledger.forward([
      [old, 0.3],
      [charge, 0.05],
    ])
    const percent = [0.3, 0.125, 0.0725, 0.05675, 0.052025, 0.0506075]
    for (const [k, tap] of taps.entries()) expect(copper[tap]).toBeCloseTo(percent[k]!, 12)
  })
})

describe('two heats and a ladle', () => {
  const twoHeats = () => {
    const { works, ledger, furnace, a, b } = furnaceWith(1_000_000)
    const [first, second, poured, inoculant] = [
      ledger.slot(),
      ledger.slot(),
      ledger.slot(),
      ledger.leaf(),
    ]
    works.made(furnace, [first, -700_000])
    const heat = works.made(furnace, [b, 500_000, second, -600_000])
    works.made(undefined, [second, 600_000, inoculant, 3_000, poured, -603_000])
    return { works, ledger, furnace, a, b, first, second, poured, inoculant, heat }
  }

  it('share their lots as worked by hand, forward and backward (2)', () => {
    const { works, ledger, a, b, first, second, poured, inoculant } = twoHeats()
    expect(works.share(a, first)).toBe(1)
    expect(works.share(a, second)).toBe(0.375)
    expect(works.share(a, poured)).toBeCloseTo(225 / 603, 14)
    const back = ledger.backward([[poured, 1]])
    expect(back.rest[a]).toBeCloseTo(225 / 603, 14)
    expect(back.rest[b]).toBeCloseTo(375 / 603, 14)
    expect(back.rest[inoculant]).toBeCloseTo(3 / 603, 14)
    expect(back.through[second]).toBeCloseTo(600 / 603, 14)
    expect(back.unrecorded).toBe(0)
  })

  it('tell what did not come by heel (2)', () => {
    const { ledger, a, b, poured, inoculant } = twoHeats()
    const { rest } = ledger.backward([[poured, 1]], { without: 'carry' })
    expect(rest[a]).toBe(0)
    expect(rest[b]).toBeCloseTo(375 / 603, 14)
    expect(rest[inoculant]).toBeCloseTo(3 / 603, 14)
  })

  it('show the furnace as a level after each op', () => {
    const { ledger, furnace, a, b, first, second, heat } = twoHeats()
    expect(
      ledger.levels(furnace, [[a, 1]]).map(({ op, slot, mass, share }) => [op, slot, mass, share]),
    ).toEqual([
      ['in', a, 1_000_000, 1],
      ['out', first, 300_000, 1],
      ['in', b, 800_000, 0.375],
      ['out', second, 200_000, 0.375],
    ])
    expect(ledger.levels(furnace, [[a, 1]])[2]).toMatchObject({
      at: 3 * MINUTE,
      cell: heat,
      amount: 500_000,
    })
  })

  it('take in a late tap at the next question and leave what was said before as it was', () => {
    const { works, ledger, a, b, second, poured, heat, furnace } = twoHeats()
    const [late, cast] = [ledger.slot(), ledger.slot()]
    const before = works.share(a, poured)
    ledger.write(heat, 10, [...open(furnace), b, 500_000, second, -600_000, late, -100_000])
    const filling = ledger.cell({ at: 9 * MINUTE, tie: 0 })
    ledger.write(filling, 10, [late, 100_000, cast, -100_000])
    expect(works.share(a, cast)).toBe(0.375)
    expect(works.share(a, cast, { asOf: 9 })).toBe(0)
    expect(works.share(UNRECORDED, cast, { asOf: 9 })).toBe(1)
    expect(works.share(a, poured, { asOf: 9 })).toBe(before)
  })
})

describe('more tapped than there was', () => {
  it('is weighing up to a twentieth (3)', () => {
    const { works, furnace, a, tap } = furnaceWith(1_000)
    works.made(furnace, [tap, -1_050])
    expect(works.share(a, tap)).toBe(1)
  })

  it('is unrecorded metal beyond it (3)', () => {
    const { works, ledger, furnace, a, b, tap } = furnaceWith(1_000)
    const next = ledger.slot()
    works.made(furnace, [tap, -1_250, b, 10, next, -10])
    expect(works.share(a, tap)).toBe(0.8)
    expect(works.share(UNRECORDED, tap)).toBe(0.2)
    expect(works.share(b, next)).toBe(1)
    expect(ledger.backward([[tap, 1]]).unrecorded).toBeCloseTo(0.2, 15)
  })
})

describe('a measured heel', () => {
  it.each([
    ['within its tolerance is the bath weighed better', 1_100, 100, 1_100 / 1_200, 0],
    ['beyond its tolerance holds what nobody reported', 1_400, 0, 5 / 7, 2 / 7],
    ['below the book was drawn as it was', 600, 200, 0.75, 0],
    ['of nothing empties', 0, 200, 0, 0],
  ])('%s (4)', (_, measured, charged, ofA, unrecorded) => {
    const { works, furnace, a, b, tap } = furnaceWith(1_000)
    works.made(furnace, [...set(measured, 150), ...(charged > 0 ? [b, charged] : []), tap, -100])
    expect(works.share(a, tap)).toBeCloseTo(ofA, 14)
    expect(works.share(UNRECORDED, tap)).toBeCloseTo(unrecorded, 14)
  })
})

describe('what is in doubt', () => {
  it('of a ladle that may have kept something is bounded (5)', () => {
    const { works, ledger, furnace: ladle, a, b, tap } = furnaceWith(100)
    const [c, next] = [ledger.leaf(), ledger.slot()]
    works.made(ladle, [...keep(), b, 900, tap, -940])
    works.made(ladle, [...keep(), c, 540, next, -540])
    const range = (lot: number, slot: number) =>
      (['low', 'best', 'high'] as const).map((lean) => works.share(lot, slot, { lean }))
    expect(range(a, tap)).toEqual([0, 0.1, 0.1])
    expect(range(b, tap)).toEqual([0.9, 0.9, 1])
    expect(range(c, next)).toEqual([0.9, 0.9, 1])
    expect(range(a, next)[0]).toBe(0)
    expect(range(a, next)[2]).toBeCloseTo(0.01, 15)
  })

  it('of a first filling is up to what is assumed, and only there (6)', () => {
    const works = new Works()
    const { ledger } = works
    const [vessel, a, one, two] = [ledger.vessel(), ledger.leaf(), ledger.slot(), ledger.slot()]
    works.made(vessel, [...unknown(100), a, 400, one, -400])
    works.made(vessel, [...set(0), ...unknown(100), a, 400, two, -400])
    expect(works.share(a, one)).toBe(1)
    expect(works.share(a, one, { lean: 'high' })).toBe(1)
    expect(works.share(a, one, { lean: 'low' })).toBe(0.8)
    expect(works.share(a, two, { lean: 'low' })).toBe(1)
    const gaps = (from: number) => ledger.forward([], { gaps: { from } })
    expect(gaps(MINUTE)[one]).toBe(0.2)
    expect(gaps(2 * MINUTE)[one]).toBe(0)
    expect(gaps(0)[two]).toBe(0)
  })

  it('is not spent by a cell that was taken out again (6)', () => {
    const works = new Works()
    const { ledger } = works
    const [vessel, a, one] = [ledger.vessel(), ledger.leaf(), ledger.slot()]
    const mistaken = works.made(vessel, [...unknown(100), a, 50])
    works.made(vessel, [...unknown(100), a, 400, one, -400])
    ledger.write(mistaken, 5, [])
    expect(works.share(a, one, { lean: 'low' })).toBe(0.8)
  })

  it('counts a gap where it is read, by the clock of the reader', () => {
    const works = new Works()
    const { ledger } = works
    const [nobody, early, late] = [ledger.slot(), ledger.slot(), ledger.slot()]
    works.made(undefined, [nobody, 10, early, -10])
    works.made(undefined, [nobody, 10, late, -10])
    const gaps = ledger.forward([], { gaps: { from: 2 * MINUTE } })
    expect([gaps[early], gaps[late], gaps[nobody]]).toEqual([0, 1, 1])
  })
})

describe('returns', () => {
  it('carry their lots on, and can be left out of the way back (7)', () => {
    const works = new Works()
    const { ledger } = works
    const furnace = ledger.vessel()
    const [a, b] = [ledger.leaf(), ledger.leaf()]
    const [poured, returns, tap] = [ledger.slot(), ledger.slot(), ledger.slot()]
    works.made(furnace, [a, 800, poured, -800])
    const thrown = works.made(undefined, [poured, 200, returns, -200])
    works.made(furnace, [...set(0), returns, 200, b, 600, tap, -800])
    expect(works.share(a, tap)).toBe(0.25)
    const { rest, through } = ledger.backward([[tap, 1]])
    expect([rest[a], rest[b], through[returns]]).toEqual([0.25, 0.75, 0.25])
    const cut = ledger.backward([[tap, 1]], { without: [thrown] })
    expect([cut.rest[a], cut.rest[b], cut.unrecorded]).toEqual([0, 0.75, 0])
  })
})

describe('clocks that close a circle', () => {
  it('leave out the link against time, count it unrecorded and name the cell (8)', () => {
    const works = new Works()
    const { ledger } = works
    const [a, heat, pour, returns] = [ledger.leaf(), ledger.slot(), ledger.slot(), ledger.slot()]
    const melted = works.made(undefined, [returns, 200, a, 600, heat, -800])
    works.made(undefined, [heat, 800, pour, -800])
    works.made(undefined, [pour, 200, returns, -200])
    for (const slot of [heat, pour, returns]) {
      expect(works.share(a, slot)).toBe(0.75)
      expect(works.share(UNRECORDED, slot)).toBe(0.25)
    }
    expect(ledger.circles()).toEqual([melted])
  })

  it('are none once a correction opens the circle, but were then', () => {
    const works = new Works()
    const { ledger } = works
    const [a, heat, pour] = [ledger.leaf(), ledger.slot(), ledger.slot()]
    const melted = works.made(undefined, [pour, 200, a, 600, heat, -800], 1)
    works.made(undefined, [heat, 800, pour, -800], 1)
    expect(works.share(a, pour)).toBe(0.75)
    ledger.write(melted, 2, [a, 800, heat, -800])
    expect(works.share(a, pour)).toBe(1)
    expect(ledger.circles()).toEqual([])
    expect(works.share(a, pour, { asOf: 1 })).toBe(0.75)
    expect(ledger.circles(1)).toEqual([melted])
  })
})

describe('a circle that grows by a late report', () => {
  // V and U feed each other, P is made of V; X, the earliest by the clock, feeds U.
  const circle = () => {
    const ledger = new Ledger()
    const a = ledger.leaf()
    const [u, v1, v2, p, x] = Array.from({ length: 5 }, () => ledger.slot()) as [
      number,
      number,
      number,
      number,
      number,
    ]
    const cell = (minute: number) => ledger.cell({ at: MINUTE * minute, tie: 0 })
    const [cellX, cellP, cellV, cellU] = [cell(1), cell(2), cell(3), cell(4)]
    ledger.write(cellV, 0, [u, 10, a, 10, v1, -10, v2, -10])
    ledger.write(cellU, 0, [v1, 10, x, 10, u, -20])
    ledger.write(cellP, 0, [v2, 10, p, -10])
    const early: Ops = [a, 10, x, -10]
    const grown: Ops = [p, 10, a, 10, x, -20]
    return { ledger, a, x, cellX, cellV, early, grown }
  }

  it('is opened at another place when the new cell closes it', () => {
    const { ledger, a, x, cellX, cellV, grown } = circle()
    expect(ledger.circles()).toEqual([cellV])
    ledger.write(cellX, 0, grown)
    expect(ledger.circles()).toEqual([cellX, cellV])
    expect(ledger.forward([[a, 1]])[x]).toBe(0.5)
  })

  it('is opened at another place when a correction closes it', () => {
    const { ledger, a, x, cellX, cellV, early, grown } = circle()
    ledger.write(cellX, 0, early)
    expect(ledger.circles()).toEqual([cellV])
    ledger.write(cellX, 1, grown)
    expect(ledger.circles()).toEqual([cellX, cellV])
    expect(ledger.forward([[a, 1]])[x]).toBe(0.5)
    expect(ledger.circles(0)).toEqual([cellV])
  })
})

describe('a value put in by force', () => {
  it('stands in place of what is written, and of a leaf', () => {
    const works = new Works()
    const { ledger } = works
    const [a, b, load, pack] = [ledger.leaf(), ledger.leaf(), ledger.slot(), ledger.slot()]
    works.made(undefined, [a, 10, b, 10, load, -20])
    works.made(undefined, [load, 5, b, 15, pack, -20])
    const shares = ledger.forward([[a, 1]], { force: [[load, 1]] })
    expect([shares[load], shares[pack]]).toEqual([1, 0.25])
    const both = ledger.forward([], {
      force: [
        [load, 1],
        [b, 1],
      ],
      lean: 'low',
    })
    expect(both[pack]).toBe(1)
  })
})

describe('a bath that counts whole', () => {
  it('is followed with its heel and all that is charged, from that heat on', () => {
    const { works, ledger, furnace, a, b, tap } = furnaceWith(1_000)
    const [before, next] = [ledger.slot(), ledger.slot()]
    works.made(furnace, [before, -100])
    const heat = works.made(furnace, [b, 100, ...set(1_500), tap, -500])
    works.made(furnace, [a, 1_000, next, -100])
    const shares = ledger.forward([], { flood: [heat] })
    expect([shares[before], shares[tap], shares[next]]).toEqual([0, 1, 0.5])
    const seen = ledger.forward([], { flood: [heat], lean: 'low' })
    expect([seen[before], seen[tap], seen[next]]).toEqual([0, 1, 0.5])
  })
})

describe('a slot that a correction moved to another cell', () => {
  it('is what the newer cell wrote, and was what the older one did', () => {
    const works = new Works()
    const { ledger } = works
    const [a, b, tap, pour] = [ledger.leaf(), ledger.leaf(), ledger.slot(), ledger.slot()]
    const wrong = works.made(undefined, [a, 10, tap, -10], 1)
    works.made(undefined, [tap, 10, pour, -10], 1)
    expect(works.share(a, pour)).toBe(1)
    works.made(undefined, [b, 10, tap, -10], 2)
    ledger.write(wrong, 2, [])
    expect(works.share(b, pour)).toBe(1)
    expect(works.share(a, pour)).toBe(0)
    expect(works.share(a, pour, { asOf: 1 })).toBe(1)
  })
})

describe('ops that make no sense', () => {
  it.each<[string, (ledger: Ledger, leaf: number) => Ops]>([
    ['a part of a gram', (_, leaf) => [leaf, 0.5]],
    ['more than an amount can be', (_, leaf) => [leaf, 2 ** 31]],
    ['a slot that is none', () => [99, 5]],
    ['a tap into a leaf', (_, leaf) => [leaf, -5]],
    ['a tap into what is unrecorded', () => [UNRECORDED, -5]],
    ['a vessel that is not its own', (ledger) => open(ledger.vessel())],
  ])('are refused: %s', (_, ops) => {
    const ledger = new Ledger()
    const leaf = ledger.leaf()
    const cell = ledger.cell({ at: 0, tie: 0 })
    expect(() => ledger.write(cell, 0, ops(ledger, leaf))).toThrow(RangeError)
    expect(ledger.forward([[leaf, 1]])[leaf]).toBe(1)
  })
})

describe('a plant of many pages', () => {
  const shuffled = (heats: number) => {
    const plant = new SyntheticPlant(heats)
    const chance = random(3)
    const late = [...plant.made()]
      .map((made, k) => ({ made, when: k + 900 * chance() ** 4 }))
      .sort((a, b) => a.when - b.when)
    for (const [k, { made }] of late.entries()) {
      plant.write(made)
      if (k % 20 === 0) plant.ledger.circles()
    }
    return plant
  }
  const expectSame = (one: SyntheticPlant, other: SyntheticPlant) => {
    for (const heat of [0, Math.floor(one.heats / 3), one.heats - 1]) {
      const seeds: [number, number][] = [[one.lot(1, heat), 1]]
      expect(other.ledger.forward(seeds)).toEqual(one.ledger.forward(seeds))
    }
  }

  it('gives the same shares whichever way its reports come in, and after each correction', () => {
    const [one, other] = [new SyntheticPlant(400), shuffled(400)]
    one.load()
    expectSame(one, other)
    const chance = random(4)
    for (let k = 0; k < 60; k++) {
      const heat = Math.floor(400 * chance())
      const { ops } = one.heat(heat, 1.1)
      const since = Date.UTC(2030, 0) + k
      for (const plant of [one, other]) plant.ledger.write(plant.cellOf(heat), since, ops)
    }
    expectSame(one, other)
    other.ledger.compact()
    expectSame(one, other)
  })

  it('is followed from where it begins as from the first page, after each correction too', () => {
    const plant = new SyntheticPlant(3000)
    plant.load()
    const { ledger } = plant
    const chance = random(5)
    const asked = plant.lot(2, 2000)
    const spreads = (asOf?: number) => {
      const spanOf = ledger.follow([asked], { doubt: true, ...(asOf && { asOf }) })
      return Array.from({ length: 3000 }, (_, heat) => spanOf(plant.pourSlot(heat, 1)).spread)
    }
    const said = spreads()
    expect(said.some((spread) => spread > 0)).toBe(true)
    expect(spreads()).toEqual(said)
    for (let k = 0; k < 6; k++) {
      const lot = plant.lot(1, Math.floor(3000 * chance()))
      const spanOf = ledger.follow([lot])
      const begun = ledger.forward([[lot, 1]])
      const off: number[] = []
      // With a list of floods, even an empty one, the sweep is the general one from the first page on.
      const whole = ledger.forward([[lot, 1]], { flood: [] })
      for (let heat = 0; heat < 3000; heat++) {
        const slot = plant.pourSlot(heat, heat % 4)
        off.push(Math.abs(spanOf(slot).best - whole[slot]!))
        off.push(Math.abs(begun[slot]! - whole[slot]!))
      }
      expect(Math.max(...off)).toBeLessThanOrEqual(1e-12)
      const heat = Math.floor(3000 * chance())
      const [head, vessel, ...ops] = plant.heat(heat, 1.2).ops
      spreads()
      ledger.write(plant.cellOf(heat), Date.UTC(2030, 0) + k, [
        head!,
        vessel!,
        ...set(500_000),
        ...ops,
      ])
    }
    expect(spreads(Date.UTC(2029, 0))).toEqual(said)
  })

  it('leaves out of many long circles the links that run far against time, and no others', () => {
    const [one, other] = [new SyntheticPlant(400), shuffled(400)]
    one.load()
    for (let k = 0; k < 20; k++) {
      const heat = 5 * k
      const [open, vessel, ...ops] = one.heat(heat).ops
      const mistaken: Ops = [open!, vessel!, one.returns(399 - 10 * k, 0), 1_000_000, ...ops]
      const since = Date.UTC(2030, 0)
      for (const plant of [one, other]) plant.ledger.write(plant.cellOf(heat), since, mistaken)
    }
    expect(one.ledger.circles().sort((a, b) => a - b)).toEqual(
      Array.from({ length: 20 }, (_, k) => one.cellOf(5 * k)),
    )
    expectSame(one, other)
  })
})
