import { describe, expect, it } from 'vitest'
import type { Fact } from '../../services/events/fact.ts'
import { UNRECORDED } from '../../services/metal/ledger/writing.ts'
import {
  defect,
  handled,
  MINUTE,
  mount,
  packed,
  pour,
  repacked,
  returned,
  run,
  Shop,
  shipped,
} from './shop.ts'

/** Pour 1 makes 40 skillets, pour 2 makes 60. */
const POURED = [
  mount(0),
  run('m', [1, 100], [0, 100]),
  pour('1', [1, 20], 10),
  pour('2', [21, 50], 20),
]

/** Pour 1 makes 20 skillets and 10 lids. */
const TWO_PRODUCTS = [
  mount(0, {
    cavities: [
      { cavity: 'A', product: 'skillet' },
      { cavity: 'B', product: 'skillet' },
      { cavity: 'C', product: 'lid' },
    ],
  }),
  run('m', [1, 10], [0, 10]),
  pour('1', [1, 10], 10),
]

const shakenOut = (load: string, of: string, castings: number, from = 60, more: object = {}) =>
  handled(load, 'shake-out', [from, from + 10], { castings, sources: [{ of, castings }], ...more })

const byThing = (shop: Shop) =>
  shop.places(({ thing, place }) => `${shop.record.name(thing)} ${place}`)

describe('the name of a load', () => {
  it('means the latest handling that ended before it was taken from', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      ...shakenOut('Y', 'pour:2', 60),
      ...handled('X', 'tumble', [80, 100], {
        castings: 60,
        sources: [
          { of: 'load:X', castings: 40 },
          { of: 'load:Y', castings: 20 },
        ],
      }),
      ...packed('K', 110, ['skillet', 30, { 'load:X': 30 }]),
    ])
    expect(shop.chances('pack:K')).toEqual({ 'pour:1': 0.666666667, 'pour:2': 0.333333333 })
    expect(shop.gaps()).toEqual([])
  })

  it('means the load as it left its step before where a report names no source', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      ...handled('X', 'tumble', [80, 100], { castings: 40 }),
      ...handled('X', 'blast', [100, 120], { castings: 40 }),
      ...packed('K', 130, ['skillet', 40, { 'load:X': null }]),
    ])
    expect(shop.chances('pack:K')).toEqual({ 'pour:1': 1 })
    expect(byThing(shop)).toEqual({ 'pour:2 IN_PROCESS': 60, 'pack:K IN_STOCK': 40 })
    expect(shop.gaps()).toEqual([])
  })

  it('goes from step to step on a line where the steps of one load overlap', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      ...handled('X', 'wash', [80, 110], { castings: 40 }),
      ...handled('X', 'dry', [85, 115], { castings: 40 }),
      ...handled('X', 'oil', [90, 120], { castings: 40 }),
      ...packed('K', 130, ['skillet', 40, { 'load:X': 40 }]),
    ])
    expect(byThing(shop)).toEqual({ 'pour:2 IN_PROCESS': 60, 'pack:K IN_STOCK': 40 })
    expect(shop.gaps()).toEqual([])
  })

  it('means another load each time a tag is used again', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40, 60),
      ...packed('K1', 80, ['skillet', 40, { 'load:X': 40 }]),
      ...shakenOut('X', 'pour:2', 60, 100),
      ...handled('X', 'tumble', [120, 130], { castings: 60 }),
      ...packed('K2', 140, ['skillet', 60, { 'load:X': 60 }]),
    ])
    expect(shop.chances('pack:K1')).toEqual({ 'pour:1': 1 })
    expect(shop.chances('pack:K2')).toEqual({ 'pour:2': 1 })
    expect(shop.gaps()).toEqual(['tag-reused load:X'])
    expect(
      shop.castings.handlingsOf(shop.no('load:X')).map(({ step, from }) => [step, from / MINUTE]),
    ).toEqual([
      ['shake-out', 60],
      ['shake-out', 100],
      ['tumble', 120],
    ])
  })

  it('never carries an older load through a shake-out that names no source', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40, 60),
      ...handled('X', 'shake-out', [100, 110], { castings: 30 }),
    ])
    expect(shop.chances('load:X')).toEqual({ '?': 1 })
    expect(shop.gaps()).toEqual(['tag-reused load:X', 'unknown-origin load:X'])
  })

  it('means the handling still going on where the one that ended has passed all on to it', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      ...handled('X', 'bake', [80, 120], { castings: 40 }),
      // The clock of the packer is five minutes behind that of the oven.
      ...packed('K', 115, ['skillet', 40, { 'load:X': 40 }]),
    ])
    expect(shop.chances('pack:K')).toEqual({ 'pour:1': 1 })
    expect(shop.gaps()).toEqual(['clock-order pack:K'])
  })

  it('means nothing known where no report of the load ever came', () => {
    const shop = new Shop([...POURED, ...packed('K', 115, ['skillet', 40, { 'load:Z': 40 }])])
    expect(shop.chances('pack:K')).toEqual({ '?': 1 })
    expect(shop.gaps()).toEqual(['unknown-origin pack:K'])
    expect(shop.say(shakenOut('Z', 'pour:1', 40))).toContain('pack:K')
    expect(shop.chances('pack:K')).toEqual({ 'pour:1': 1 })
    expect(shop.gaps()).toEqual([])
  })
})

describe('totes', () => {
  it('hold what leaves a step from its end on, and the load is then named by the tote', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40, 60, { tote: 'T' }),
      ...shakenOut('Y', 'pour:2', 40, 65, { tote: 'T' }),
      // Takes its load on from the tote, where it stands beside the other.
      ...handled('X', 'blast', [80, 90], { castings: 40 }),
    ])
    expect(shop.chances('load:X')).toEqual({ 'pour:1': 0.5, 'pour:2': 0.5 })
    expect(byThing(shop)).toMatchObject({ 'tote:T IN_PROCESS': 40, 'load:X IN_PROCESS': 40 })
  })

  it('are filled before they are drawn from in one moment', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40, 60, { tote: 'T' }),
      ...handled('B', 'blast', [70, 80], {
        castings: 40,
        sources: [{ of: 'tote:T', castings: 40 }],
      }),
    ])
    expect(shop.chances('load:B')).toEqual({ 'pour:1': 1 })
    expect(shop.gaps()).toEqual([])
  })

  it('give nothing known before anything was put in, or after they were said to be empty', () => {
    const took = (load: string, from: number, more: object = {}) =>
      handled(load, 'blast', [from, from + 1], {
        castings: 10,
        sources: [{ of: 'tote:T', castings: 10, ...more }],
      })
    const shop = new Shop([
      ...POURED,
      ...took('A', 65),
      ...shakenOut('X', 'pour:1', 40, 60, { tote: 'T' }),
      ...took('B', 75, { emptied: true }),
      ...took('C', 80),
    ])
    expect(shop.chances('load:A')).toEqual({ '?': 1 })
    expect(shop.chances('load:B')).toEqual({ 'pour:1': 1 })
    expect(shop.chances('load:C')).toEqual({ '?': 1 })
    expect(byThing(shop)).toMatchObject({ 'tote:T UNACCOUNTED': 30 })
  })

  it('are empty once all that a report took from them is out', () => {
    const shop = new Shop([
      ...TWO_PRODUCTS,
      ...handled('X', 'shake-out', [60, 70], {
        castings: 30,
        tote: 'T',
        sources: [{ of: 'pour:1' }],
      }),
      ...handled('B', 'blast', [80, 90], {
        castings: 30,
        sources: [
          { of: 'tote:T', castings: 10, product: 'lid', emptied: true },
          { of: 'tote:T', castings: 20, product: 'skillet', emptied: true },
        ],
      }),
    ])
    expect(shop.chances('load:B')).toEqual({ 'pour:1': 1 })
    expect(shop.gaps()).toEqual([])
  })

  it('weigh beside other sources by what was put in last, and anew when that changes', () => {
    const later = shakenOut('N', 'pour:1', 10, 75, { tote: 'T' })
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 30, 60, { tote: 'T' }),
      ...handled('Y', 'blast', [90, 100], {
        castings: 42,
        sources: [{ of: 'load:X' }, { of: 'pour:2' }],
      }),
    ])
    // 42 × 30/(30 + 60) = 14 of pour 1; then 42 × 10/(10 + 60) = 6.
    expect(shop.chances('load:Y')).toEqual({ 'pour:1': 0.333333333, 'pour:2': 0.666666667 })
    shop.say(later)
    expect(shop.chances('load:Y')).toEqual({ 'pour:1': 0.142857143, 'pour:2': 0.857142857 })
    shop.say([], later)
    expect(shop.chances('load:Y')).toEqual({ 'pour:1': 0.333333333, 'pour:2': 0.666666667 })
  })

  it('of scrap hold scrap, until something else stands beside it', () => {
    const scrap = handled('X', 'shake-out', [60, 70], {
      castings: 30,
      sources: [{ of: 'pour:1', castings: 40 }],
      removed: [{ castings: 10, fate: 'scrap', into: 'tote:S' }],
    })
    const shop = new Shop([...POURED, ...scrap])
    expect(byThing(shop)).toMatchObject({ 'tote:S SCRAPPED': 10 })
    shop.say(shakenOut('Y', 'pour:2', 5, 80, { tote: 'S' }))
    expect(byThing(shop)).toMatchObject({ 'tote:S IN_PROCESS': 15 })
  })
})

describe('what leaves a load', () => {
  it('is there for who says it came out of the load after all', () => {
    const shop = new Shop([
      ...POURED,
      ...handled('X', 'blast', [60, 70], {
        castings: 35,
        sources: [{ of: 'pour:1', castings: 40 }],
        removed: [{ castings: 5, fate: 'rework' }],
      }),
      ...handled('R', 'grind', [80, 90], { castings: 5, sources: [{ of: 'load:X', castings: 5 }] }),
      ...handled('X', 'oil', [100, 110], { castings: 35 }),
    ])
    expect(shop.gaps()).toEqual([])
    expect(byThing(shop)).toEqual({
      'pour:2 IN_PROCESS': 60,
      'load:R IN_PROCESS': 5,
      'load:X IN_PROCESS': 35,
    })
  })

  it('as scrap is not: it is of unknown origin a second time', () => {
    const shop = new Shop([
      ...POURED,
      ...handled('X', 'blast', [60, 70], {
        castings: 35,
        sources: [{ of: 'pour:1', castings: 40 }],
        removed: [{ castings: 5, fate: 'scrap' }],
      }),
      ...handled('X', 'oil', [100, 110], { castings: 40 }),
    ])
    expect(shop.chances('load:X')).toEqual({ 'pour:1': 0.875, '?': 0.125 })
  })

  it('and was not said to leave is unaccounted for', () => {
    const shop = new Shop([
      ...POURED,
      ...handled('X', 'blast', [60, 70], {
        castings: 35,
        castingsIn: 40,
        sources: [{ of: 'pour:1', castings: 40 }],
      }),
    ])
    expect(byThing(shop)).toMatchObject({ 'load:X UNACCOUNTED': 5, 'load:X IN_PROCESS': 35 })
    expect(shop.gaps()).toEqual(['unaccounted load:X'])
  })

  it('waits under the name of the load it was sent to, until that is handled', () => {
    const sent = handled('X', 'blast', [60, 70], {
      castings: 35,
      sources: [{ of: 'pour:1', castings: 40 }],
      removed: [{ castings: 5, fate: 'rework', into: 'load:R' }],
    })
    const shop = new Shop([...POURED, ...sent])
    expect(byThing(shop)).toMatchObject({ 'load:R IN_PROCESS': 5 })
    // The report of R names its source as well: they are the same castings.
    shop.say(
      handled('R', 'grind', [80, 90], { castings: 5, sources: [{ of: 'load:X', castings: 5 }] }),
    )
    expect(byThing(shop)).toEqual({
      'pour:2 IN_PROCESS': 60,
      'load:X IN_PROCESS': 35,
      'load:R IN_PROCESS': 5,
    })
    expect(shop.gaps()).toEqual([])
  })

  it('by inspection is of the cavity that was named', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      defect('load:X', 10, 75, { cavity: 'A' }),
      ...packed('K', 80, ['skillet', 30, { 'load:X': 30 }]),
    ])
    const back = shop.castings.ledger.backward([
      [shop.castings.slotsOf(shop.no('pack:K'))[0]!.slot, 30],
    ])
    const made = shop.castings
      .unitsOf(shop.no('pour:1'))
      .map(({ slot, cavity }) => [cavity, back.rest[slot]])
    expect(made).toEqual([
      ['A', 10],
      ['B', 20],
    ])
    expect(byThing(shop)).toMatchObject({ 'load:X SCRAPPED': 10, 'pack:K IN_STOCK': 30 })
  })

  it('by an inspection of several loads lies among them by their size, and is counted once', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 30),
      ...shakenOut('Y', 'pour:2', 60),
      defect('load:X', 9, 75),
      defect('load:Y', 9, 75),
      defect('load:Y', 4, 75, { fate: 'accept', defect: 'scratch' }),
    ])
    expect(byThing(shop)).toMatchObject({
      'load:X SCRAPPED': 3,
      'load:Y SCRAPPED': 6,
      'load:Y IN_PROCESS': 54,
    })
  })

  it('by inspection of a pour comes after what its loads took', () => {
    const shop = new Shop([...POURED, ...shakenOut('X', 'pour:1', 38), defect('pour:1', 3, 75)])
    expect(shop.chances('load:X')).toEqual({ 'pour:1': 1 })
    expect(byThing(shop)).toMatchObject({ 'load:X IN_PROCESS': 38, 'pour:1 SCRAPPED': 3 })
    expect(shop.gaps()).toEqual(['overdrawn pour:1'])
  })

  it('by inspection of something never reported is scrap of unknown source', () => {
    const shop = new Shop([...POURED, defect('load:Z', 4, 75)])
    const scrap = [...shop.castings.nodes()].filter(({ place }) => place === 'SCRAPPED')
    expect(scrap).toMatchObject([{ slot: UNRECORDED, thing: shop.no('load:Z'), castings: 4 }])
    expect(shop.gaps()).toEqual(['unknown-scrap load:Z'])
  })
})

describe('clocks', () => {
  it('may be off by a century without anything being lost', () => {
    const far = 100 * 365 * 24 * 60
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40, -far),
      ...handled('X', 'tumble', [far, far + 10], { castings: 40 }),
      ...packed('K', 2 * far, ['skillet', 40, { 'load:X': 40 }]),
    ])
    expect(shop.chances('pack:K')).toEqual({ 'pour:1': 1 })
  })
})

describe('counts', () => {
  it('may be typed as absurdly as they like: proportions hold, and nothing stops', () => {
    const sources = Array.from({ length: 9 }, (_, i) => ({ of: `pour:${i + 1}`, castings: 4e9 }))
    const shop = new Shop(
      handled('X', 'tumble', [60, 90], { castings: 36e9, product: 'skillet', tote: 'T', sources }),
    )
    expect(shop.chances('tote:T')['pour:3']).toBeCloseTo(1 / 9, 6)
  })
})

describe('castings of a pour', () => {
  it('wait in their molds until those of a later pour of the line are shaken out', () => {
    const shop = new Shop([...POURED, ...shakenOut('X', 'pour:1', 35)])
    expect(byThing(shop)).toMatchObject({ 'pour:1 IN_PROCESS': 5, 'pour:2 IN_PROCESS': 60 })
    expect(shop.gaps()).toEqual([])
    shop.say(shakenOut('Y', 'pour:2', 10))
    expect(byThing(shop)).toMatchObject({ 'pour:1 UNACCOUNTED': 5, 'pour:2 IN_PROCESS': 50 })
    expect(shop.gaps()).toEqual(['unaccounted pour:1'])
  })
})

describe('a pour that others name and nobody reported', () => {
  it('is where its castings come from all the same', () => {
    const shop = new Shop([...shakenOut('X', 'pour:9', 12, 60, { product: 'skillet' })])
    expect(shop.chances('load:X')).toEqual({ 'pour:9': 1 })
    expect(shop.made('pour:9')).toEqual({ skillet: 12 })
    expect([...shop.castings.pours()]).toMatchObject([
      { no: shop.no('pour:9'), reported: false, open: true, castings: 12 },
    ])
    expect(shop.gaps()).toEqual(['not-reported pour:9'])
  })
})

describe('packs', () => {
  it('hold castings of unknown origin where no source is named', () => {
    const shop = new Shop([...POURED, ...packed('K', 100, ['skillet', 10])])
    expect(shop.chances('pack:K')).toEqual({ '?': 1 })
  })

  it('are filled before they leave, whatever the clocks say', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      ...packed('K', 200, ['skillet', 40, { 'load:X': 40 }]),
      shipped('S', 'K', 40, 190),
    ])
    expect(shop.chances('shipment:S')).toEqual({ 'pour:1': 1 })
    expect(byThing(shop)).toMatchObject({ 'pack:K SHIPPED': 40 })
    expect(shop.gaps()).toEqual([])
  })

  it('are what is in them now', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      ...shakenOut('Y', 'pour:2', 40),
      ...packed('K1', 100, ['skillet', 40, { 'load:X': 40 }]),
      ...packed('K2', 100, ['skillet', 40, { 'load:Y': 40 }]),
      shipped('S', 'K1', 10, 110),
      repacked('K1', 'K2', 30, 120),
      repacked('K2', 'K1', 40, 130),
    ])
    // K1: 10 left, 30 stayed, 30 of K2 came: half and half. 40 of these go to the 10 in K2.
    expect(shop.chances('pack:K2')).toEqual({ 'pour:1': 0.4, 'pour:2': 0.6 })
    expect(shop.chances('pack:K1')).toEqual({ 'pour:1': 0.666666667, 'pour:2': 0.333333333 })
    expect(byThing(shop)).toMatchObject({
      'pack:K1 IN_STOCK': 20,
      'pack:K1 SHIPPED': 10,
      'pack:K2 IN_STOCK': 50,
    })
  })

  it('shipped and never reported are with the customer, of unknown origin', () => {
    const shop = new Shop([shipped('S', 'K', 10, 110)])
    const [node] = [...shop.castings.nodes()]
    expect(node).toMatchObject({
      slot: UNRECORDED,
      thing: shop.no('pack:K'),
      place: 'SHIPPED',
      customer: 'C1',
    })
    expect(shop.gaps()).toEqual(['unknown-origin pack:K'])
  })

  it('that are not known to have been sent come back from nowhere', () => {
    const shop = new Shop([
      returned('return:1', 3, 100, 'load:B'),
      ...handled('B', 'strip', [110, 120], { castings: 3, product: 'skillet' }),
    ])
    expect(shop.chances('load:B')).toEqual({ '?': 1 })
  })

  it('come back to the lot they are thrown into', () => {
    const shop = new Shop([
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      ...packed('K', 100, ['skillet', 40, { 'load:X': 40 }]),
      shipped('S', 'K', 40, 110),
      returned('pack:K', 6, 300, 'lot:R'),
    ])
    expect(byThing(shop)).toMatchObject({ 'pack:K SHIPPED': 34, 'lot:R SCRAPPED': 6 })
    expect(shop.chances('lot:R')).toEqual({ 'pour:1': 1 })
    expect(shop.castings.massWeights(shop.no('pack:K'))).toMatchObject([
      { pour: shop.no('pour:1'), castings: 20, castingGrams: 2000 },
      { pour: shop.no('pour:1'), castings: 20, castingGrams: 2000 },
    ])
    expect(shop.castings.metalOf(shop.no('pack:K'))).toEqual([
      { pour: shop.no('pour:1'), share: 1, grams: 80_000 },
    ])
  })

  it('give their make-up to a pan, unless it has a source of its own', () => {
    const pan = (name: string, other?: string): Fact => ({
      what: 'pan-packed',
      of: `pan:${name}`,
      via: 'pack:K',
      at: 100 * MINUTE,
      ...(other === undefined ? {} : { other }),
    })
    const shop = new Shop([
      ...POURED,
      ...handled('X', 'tumble', [60, 70], {
        castings: 40,
        sources: [
          { of: 'pour:1', castings: 10 },
          { of: 'pour:2', castings: 30 },
        ],
      }),
      ...packed('K', 100, ['skillet', 40, { 'load:X': 40 }]),
      pan('1'),
      pan('2', 'pour:1'),
      pan('3', 'pour:9'),
    ])
    expect(shop.chances('pan:1')).toEqual({ 'pour:1': 0.25, 'pour:2': 0.75 })
    expect(shop.chances('pan:2')).toEqual({ 'pour:1': 1 })
    expect(
      shop.castings.slotsOf(shop.no('pan:2')).reduce((sum, { castings }) => sum + castings, 0),
    ).toBe(1)
    expect(shop.chances('pan:3')).toEqual({ 'pour:9': 1 })
    expect(shop.castings.sourcesOf(shop.no('pan:2'))).toEqual([
      { of: shop.no('pour:1'), castings: 1 },
    ])
    const later = shop.say(shakenOut('Y', 'pour:2', 20, 60))
    expect([...later]).toEqual(
      expect.arrayContaining(['pour:2', 'load:Y', 'load:X', 'pack:K', 'pan:1']),
    )
  })

  it('stand where they were last counted, and say when the count differs', () => {
    const counted = (castings: number): Fact => ({
      what: 'stock-counted',
      of: 'pack:K',
      at: 150 * MINUTE,
      castings,
      spot: 'bay 7',
    })
    const facts = [
      ...POURED,
      ...shakenOut('X', 'pour:1', 40),
      ...packed('K', 100, ['skillet', 40, { 'load:X': 40 }]),
      shipped('S', 'K', 10, 110),
    ]
    const right = new Shop([...facts, counted(30), shipped('S2', 'K', 5, 160)])
    expect(right.gaps()).toEqual([])
    expect([...right.castings.nodes()].find(({ place }) => place === 'IN_STOCK')).toMatchObject({
      spot: 'bay 7',
      castings: 25,
    })
    expect(new Shop([...facts, counted(28)]).gaps()).toEqual(['count-differs pack:K'])
  })
})

describe('machines and what touches castings', () => {
  const facts = [
    ...POURED,
    ...shakenOut('X', 'pour:1', 40),
    ...shakenOut('Y', 'pour:2', 60),
    ...handled('X', 'blast', [80, 90], { castings: 40, machine: 'B1' }),
    ...handled('Y', 'blast', [95, 105], { castings: 60, machine: 'B1' }),
    ...handled('X', 'oil', [100, 110], { castings: 40 }),
    ...packed('K', 120, ['skillet', 50, { 'load:X': 30, 'load:Y': 20 }]),
  ]
  const affected = (shop: Shop, slots: number[]) => {
    const force = slots.map((slot): [number, number] => [slot, 1])
    const share = shop.castings.ledger.forward([], { force })
    return shop.castings.slotsOf(shop.no('pack:K')).map(({ slot }) => share[slot])
  }

  it('are all that went through a machine in a stretch of time', () => {
    const shop = new Shop(facts)
    expect(affected(shop, shop.castings.through('B1', 0, 95 * MINUTE)?.surely ?? [])).toEqual([0.6])
    expect(affected(shop, shop.castings.through('B1', 0, 200 * MINUTE)?.surely ?? [])).toEqual([1])
    expect(shop.castings.through('B2', 0, 200 * MINUTE)?.surely ?? []).toEqual([])
  })

  it('are those of the step at which it touched the load', () => {
    const shop = new Shop(facts)
    const touched = (of: string, more: object) =>
      shop.record.numbered({
        what: 'touched',
        of,
        other: 'lot:oil',
        station: 'season',
        at: 110 * MINUTE,
        ...more,
      } as Fact)
    const oiled = shop.castings.slotsTouched({ fact: touched('load:X', { step: 'oil', pass: 1 }) })
    expect(
      affected(
        shop,
        oiled.map(({ slot }) => slot),
      ),
    ).toEqual([0.6])
    const any = shop.castings.slotsTouched({ fact: touched('load:Y', {}) })
    expect(any.map(({ castings }) => castings)).toEqual([30, 30, 30, 30])
  })
})
