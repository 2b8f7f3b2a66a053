import { describe, expect, it } from 'vitest'
import {
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

const LIDS = [{ cavity: 'C', product: 'lid' }]

/** Pour 1 makes 40 skillets, pour 2 makes 60, pour 3 makes 40. */
const POURED = [
  mount(0),
  run('m', [1, 100], [0, 100]),
  pour('1', [1, 20], 10),
  pour('2', [21, 50], 20),
  pour('3', [51, 70], 30),
]

/** A of mingle.md. */
const DRUM = [
  ...POURED,
  ...handled('D', 'tumble', [60, 90], {
    castings: 98,
    machine: 'drum 1',
    sources: [
      { of: 'pour:1', castings: 40 },
      { of: 'pour:2', castings: 60 },
    ],
    removed: [{ castings: 2, fate: 'scrap' }],
  }),
  ...packed('K1', 120, ['skillet', 50, { 'load:D': 50 }]),
]

const TWO_THINGS = [
  mount(0),
  mount(40, { pattern: 'Q', cavities: LIDS }),
  run('m', [1, 20], [0, 40]),
  run('n', [21, 50], [40, 100], { pattern: 'Q' }),
  pour('1', [1, 20], 42),
  pour('2', [21, 50], 60),
]

describe('castings worked by hand', () => {
  it('A: mix in a drum and are packed in the same proportion', () => {
    const shop = new Shop(DRUM)
    expect(shop.chances('pack:K1')).toEqual({ 'pour:1': 0.4, 'pour:2': 0.6 })
    expect(shop.chances('load:D')).toEqual({ 'pour:1': 0.4, 'pour:2': 0.6 })
    expect(shop.places()).toEqual({ IN_PROCESS: 40 + 48, IN_STOCK: 50, SCRAPPED: 2 })
    const share = shop.castings.ledger.forward(
      shop.castings.unitsOf(shop.no('pour:1')).map(({ slot }): [number, number] => [slot, 1]),
    )
    let expected = 0
    for (const node of shop.castings.nodes()) expected += node.castings * share[node.slot]!
    expect(expected).toBeCloseTo(40, 9)
    expect(shop.gaps()).toEqual([])
  })

  it('B: stand in a tote beside what was left in it', () => {
    const put = (load: string, of: string, from: number) =>
      handled(load, 'tumble', [from, from + 5], {
        castings: 30,
        tote: 'T',
        sources: [{ of, castings: 30 }],
      })
    const took = (load: string, from: number, emptied?: boolean) =>
      handled(load, 'blast', [from, from + 5], {
        castings: 20,
        sources: [{ of: 'tote:T', castings: 20, ...(emptied ? { emptied } : {}) }],
      })
    const first = [
      ...POURED,
      ...put('L1', 'pour:1', 60),
      ...put('L2', 'pour:2', 80),
      ...took('B2', 90),
    ]
    const shop = new Shop([...first, ...took('B1', 70)])
    expect(shop.chances('load:B1')).toEqual({ 'pour:1': 1 })
    expect(shop.chances('load:B2')).toEqual({ 'pour:1': 0.25, 'pour:2': 0.75 })
    expect(shop.chances('tote:T')).toEqual({ 'pour:1': 0.25, 'pour:2': 0.75 })
    expect(
      shop.castings.slotsOf(shop.no('tote:T'), 72 * MINUTE).reduce((n, c) => n + c.castings, 0),
    ).toBe(10)
    const emptied = new Shop([...first, ...took('B1', 70, true)])
    expect(emptied.chances('load:B2')).toEqual({ 'pour:2': 1 })
    expect(
      emptied.places(({ thing, place }) => `${emptied.record.name(thing)} ${place}`),
    ).toMatchObject({
      'tote:T UNACCOUNTED': 10,
      'tote:T IN_PROCESS': 10,
    })
    expect(emptied.gaps()).toEqual(['not-empty tote:T', 'unaccounted pour:1'])
  })

  it('C: do not mix products, and give cavities where they are named', () => {
    const shop = new Shop([
      ...TWO_THINGS,
      ...handled('D', 'shake-out', [80, 90], {
        castings: 70,
        sources: [{ of: 'pour:1' }, { of: 'pour:2' }],
      }),
      ...packed('K1', 120, ['lid', 30, { 'load:D': null }]),
      ...handled('S', 'sort', [100, 101], {
        castings: 10,
        sources: [{ of: 'load:D', castings: 10, product: 'skillet', cavity: 'A' }],
      }),
      ...packed('K2', 120, ['skillet', 30, { 'load:D': 30 }]),
    ])
    expect(shop.chances('pack:K1')).toEqual({ 'pour:2': 1 })
    expect(shop.castings.slotsOf(shop.no('load:S'))).toMatchObject([
      { product: 'skillet', cavity: 'A', castings: 10 },
    ])
    const back = shop.castings.ledger.backward([
      [shop.castings.slotsOf(shop.no('pack:K2'))[0]!.slot, 30],
    ])
    const [a, b] = shop.castings.unitsOf(shop.no('pour:1'))
    expect([a!.cavity, back.rest[a!.slot], b!.cavity, back.rest[b!.slot]]).toEqual([
      'A',
      10,
      'B',
      20,
    ])
    expect(shop.places()).toEqual({ IN_PROCESS: 10, IN_STOCK: 60 })
  })

  it('D: are of unknown origin where sources come to less, or give more than they had', () => {
    const less = new Shop([
      mount(0),
      run('m', [1, 100], [0, 100]),
      pour('1', [1, 60], 10),
      ...handled('D', 'tumble', [60, 90], {
        castings: 100,
        sources: [{ of: 'pour:1', castings: 80 }],
      }),
    ])
    expect(less.chances('load:D')).toEqual({ 'pour:1': 0.8, '?': 0.2 })
    expect(less.gaps()).toEqual(['unknown-origin load:D'])
    const took = (load: string) =>
      handled(load, 'tumble', [60, 90], { castings: 30, sources: [{ of: 'pour:1', castings: 30 }] })
    const more = new Shop([...POURED, ...took('D'), ...took('E')])
    for (const load of ['load:D', 'load:E']) {
      expect(more.chances(load)).toEqual({ 'pour:1': 0.666666667, '?': 0.333333333 })
    }
    expect(more.gaps()).toEqual([
      'overdrawn pour:1',
      'unknown-origin load:D',
      'unknown-origin load:E',
    ])
  })

  it('E: are packed anew from several packs', () => {
    const shop = new Shop([
      ...DRUM,
      ...handled('L3', 'tumble', [60, 90], {
        castings: 30,
        sources: [{ of: 'pour:3', castings: 30 }],
      }),
      ...packed('K2', 120, ['skillet', 30, { 'load:L3': 30 }]),
      repacked('K3', 'K1', 20, 130),
      repacked('K3', 'K2', 20, 130),
    ])
    expect(shop.chances('pack:K3')).toEqual({ 'pour:1': 0.2, 'pour:2': 0.3, 'pour:3': 0.5 })
    const there = shop.places(({ thing, place }) => `${shop.record.name(thing)} ${place}`)
    expect(there).toMatchObject({
      'pack:K1 IN_STOCK': 30,
      'pack:K2 IN_STOCK': 10,
      'pack:K3 IN_STOCK': 40,
    })
    expect(shop.castings.sourcesOf(shop.no('pack:K3')).map(({ castings }) => castings)).toEqual([
      20, 20,
    ])
  })

  it('F: go to rework and join the next handling there', () => {
    const shop = new Shop([
      ...POURED,
      ...handled('X', 'blast', [60, 90], {
        castings: 90,
        sources: [
          { of: 'pour:1', castings: 40 },
          { of: 'pour:2', castings: 60 },
        ],
        removed: [{ castings: 10, fate: 'rework', into: 'load:R' }],
      }),
      ...handled('R', 'grind', [100, 110], {
        castings: 20,
        sources: [{ of: 'pour:3', castings: 10 }],
      }),
    ])
    expect(shop.chances('load:R')).toEqual({ 'pour:1': 0.2, 'pour:2': 0.3, 'pour:3': 0.5 })
    expect(shop.gaps()).toEqual([])
    expect(shop.places()).toEqual({ IN_PROCESS: 30 + 90 + 20 })
  })

  it('G: removed as those of one source were never mixed with the others', () => {
    const shop = new Shop([
      ...POURED,
      ...handled('X', 'blast', [60, 90], {
        castings: 90,
        sources: [
          { of: 'pour:1', castings: 40 },
          { of: 'pour:2', castings: 60 },
        ],
        removed: [{ castings: 10, fate: 'scrap', of: 'pour:2', into: 'lot:R1' }],
      }),
    ])
    expect(shop.chances('load:X')).toEqual({ 'pour:1': 0.444444444, 'pour:2': 0.555555556 })
    expect(shop.chances('lot:R1')).toEqual({ 'pour:2': 1 })
    expect(shop.places()).toEqual({ IN_PROCESS: 90 + 40, SCRAPPED: 10 })
    expect(shop.gaps()).toEqual([])
  })

  it('H: come from uncounted sources by what those hold, and from no less than one casting', () => {
    const both = new Shop([
      ...POURED,
      ...handled('X', 'shake-out', [60, 90], {
        castings: 80,
        sources: [{ of: 'pour:1' }, { of: 'pour:2' }],
      }),
    ])
    expect(both.chances('load:X')).toEqual({ 'pour:1': 0.4, 'pour:2': 0.6 })
    const one = (castings: number) =>
      new Shop([
        ...POURED,
        ...handled('X', 'shake-out', [60, 90], {
          castings,
          sources: [{ of: 'pour:1', castings: 40 }, { of: 'pour:2' }],
        }),
      ])
    expect(one(50).chances('load:X')).toEqual({ 'pour:1': 0.8, 'pour:2': 0.2 })
    expect(one(40).chances('load:X')['pour:2']).toBeCloseTo(1 / 41, 9)
    expect(one(40).gaps()).toEqual(['unaccounted load:X'])
  })

  it('I: come back from the customer who got them', () => {
    const shop = new Shop([
      ...DRUM,
      shipped('S1', 'K1', 50, 200),
      returned('pack:K1', 5, 900, 'load:B'),
      ...handled('B', 'strip', [1000, 1010], { castings: 5 }),
    ])
    expect(shop.chances('load:B')).toEqual({ 'pour:1': 0.4, 'pour:2': 0.6 })
    expect(shop.places(({ place, customer }) => `${place} ${customer ?? ''}`.trim())).toMatchObject(
      {
        'SHIPPED C1': 45,
        IN_PROCESS: 48 + 40 + 5,
      },
    )
    expect(shop.chances('shipment:S1')).toEqual({ 'pour:1': 0.4, 'pour:2': 0.6 })
    expect(shop.gaps()).toEqual([])
  })
})
