import { describe, expect, it } from 'vitest'
import { lost, MINUTE, mount, pour, run, Shop } from './shop.ts'

const LIDS = [
  { cavity: 'A', product: 'lid' },
  { cavity: 'B', product: 'lid' },
  { cavity: 'C', product: 'lid' },
]
const DAY = 24 * 60

describe('castings of a pour', () => {
  it('are one per mold and open cavity', () => {
    const shop = new Shop([mount(0), run('m', [1, 100], [0, 100]), pour('1', [1, 20], 30)])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 20, 'skillet B': 20 })
    expect(shop.gaps()).toEqual([])
  })

  it('leave out blocked cavities', () => {
    const cavities = [
      { cavity: 'A', product: 'skillet' },
      { cavity: 'B', product: 'skillet', blocked: true },
    ]
    const shop = new Shop([
      mount(0, { cavities }),
      run('m', [1, 100], [0, 100]),
      pour('1', [1, 20], 30),
    ])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 20 })
  })

  it('are fewer by lost molds, each counted once, and more by what was kept of them', () => {
    const shop = new Shop([
      mount(0),
      run('m', [1, 100], [0, 100]),
      pour('1', [1, 20], 30),
      lost(20, [11, 12]),
      lost(40, [12, 12], { fate: 'unpoured' }),
      lost(40, [15, 15], { fate: 'short', castingsKept: 1 }),
    ])
    // 20 - |{11, 12, 15}| = 17 molds; the one casting kept of mold 15 may be of either cavity.
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 17.5, 'skillet B': 17.5 })
  })

  it('never come to more than the lost molds held, however many are said to be kept', () => {
    const shop = new Shop([
      mount(0),
      run('m', [1, 100], [0, 100]),
      pour('1', [1, 20], 30),
      lost(40, [15, 15], { castingsKept: 40 }),
    ])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 20, 'skillet B': 20 })
  })

  it('share what was kept of a lost range among the pours it spans', () => {
    const shop = new Shop([
      mount(0),
      run('m', [1, 100], [0, 100]),
      pour('1', [1, 10], 30),
      pour('2', [11, 20], 35),
      lost(40, [8, 12], { castingsKept: 5 }),
    ])
    // Molds 8, 9, 10 of pour 1 keep 3 of the 5, molds 11 and 12 of pour 2 keep 2.
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 8.5, 'skillet B': 8.5 })
    expect(shop.made('pour:2')).toEqual({ 'skillet A': 9, 'skillet B': 9 })
  })

  it('follow the pattern from run to run within one pour', () => {
    const shop = new Shop([
      mount(0),
      mount(50, { pattern: 'Q', cavities: LIDS, fromMold: 51 }),
      run('m', [1, 50], [0, 50]),
      run('n', [51, 100], [50, 100], { pattern: 'Q' }),
      pour('1', [46, 53], 60),
    ])
    expect(shop.made('pour:1')).toEqual({
      'skillet A': 5,
      'skillet B': 5,
      'lid A': 3,
      'lid B': 3,
      'lid C': 3,
    })
    expect(
      shop.castings.moldsOf(shop.no('pour:1')).map(({ first, last }) => [first, last]),
    ).toEqual([
      [46, 50],
      [51, 53],
    ])
  })
})

describe('the pattern of a run', () => {
  const blocked = [
    { cavity: 'A', product: 'skillet' },
    { cavity: 'B', product: 'skillet', blocked: true },
  ]

  it('is the mounting with the greatest first mold up to the run', () => {
    const shop = new Shop([
      mount(0, { fromMold: 1 }),
      mount(40, { fromMold: 41, cavities: blocked }),
      mount(80, { fromMold: 81 }),
      run('a', [1, 40], [0, 40]),
      run('b', [41, 80], [40, 80]),
      pour('1', [31, 50], 60),
    ])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 20, 'skillet B': 10 })
  })

  it('is the later of two alike', () => {
    const facts = [run('a', [1, 40], [10, 50]), pour('1', [1, 10], 20)]
    const shop = new Shop([
      mount(0, { fromMold: 1 }),
      mount(5, { fromMold: 1, cavities: blocked }),
      ...facts,
    ])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 10 })
  })

  it('is not one mounted after the run, while there is one from before', () => {
    const shop = new Shop([
      mount(0, { fromMold: 1 }),
      run('a', [1, 40], [0, 40]),
      pour('1', [1, 10], 20),
      mount(DAY, { fromMold: 1, cavities: blocked }),
      run('b', [1, 40], [DAY, DAY + 40]),
      pour('2', [1, 10], DAY + 20),
    ])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 10, 'skillet B': 10 })
    expect(shop.made('pour:2')).toEqual({ 'skillet A': 10 })
  })

  it('belongs to the counter of the run', () => {
    const shop = new Shop([
      mount(0, { series: 'mon', fromMold: 1 }),
      mount(DAY, { series: 'tue', fromMold: 1, cavities: blocked }),
      run('a', [1, 40], [0, 40], { series: 'mon' }),
      run('b', [1, 40], [DAY, DAY + 40], { series: 'tue' }),
      pour('1', [1, 10], 20, { series: 'mon' }),
      pour('2', [1, 10], DAY + 20, { series: 'tue' }),
    ])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 10, 'skillet B': 10 })
    expect(shop.made('pour:2')).toEqual({ 'skillet A': 10 })
  })
})

describe('a pour that names no counter', () => {
  it('is of the latest run begun before it that covers its molds', () => {
    const shop = new Shop([
      mount(0),
      mount(DAY, { pattern: 'Q', cavities: LIDS }),
      run('a', [1, 40], [0, 40], { sand: 's1' }),
      run('b', [1, 40], [DAY, DAY + 40], { pattern: 'Q', sand: 's2' }),
      pour('1', [1, 10], 60),
      pour('2', [1, 10], DAY + 20),
    ])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 10, 'skillet B': 10 })
    expect(shop.made('pour:2')).toEqual({ 'lid A': 10, 'lid B': 10, 'lid C': 10 })
    expect(shop.gaps()).toEqual([])
  })

  it('may be of two runs where clocks do not tell which was begun first', () => {
    const shop = new Shop([
      mount(0),
      run('a', [1, 40], [0, 40], { sand: 's1' }),
      run('b', [1, 40], [61, 100], { sand: 's2' }),
      pour('1', [1, 10], 60),
    ])
    const molds = shop.castings.moldsOf(shop.no('pour:1'))
    expect(molds.map(({ molds, certain }) => [shop.record.name(molds), certain])).toEqual([
      ['molds:b', false],
      ['molds:a', false],
    ])
    // Both are on one pattern, so the castings are known; either sand may have touched them.
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 10, 'skillet B': 10 })
    expect(shop.castings.unitsOfMolds(shop.no('molds:a'))).toHaveLength(2)
    expect(shop.castings.unitsOfMolds(shop.no('molds:b'))).toHaveLength(2)
    expect(shop.gaps()).toEqual(['molds-undecided pour:1'])
  })

  it('is of a run begun while its first molds were being filled, where no other covers them', () => {
    const shop = new Shop([
      mount(0),
      run('a', [1, 30], [0, 57]),
      run('b', [31, 60], [63, 90]),
      pour('1', [21, 40], 60),
    ])
    const molds = shop.castings.moldsOf(shop.no('pour:1'))
    expect(molds.map(({ first, last, certain }) => [first, last, certain])).toEqual([
      [21, 30, true],
      [31, 40, true],
    ])
    expect(shop.gaps()).toEqual([])
  })

  it('makes castings nobody can name when the two runs make different ones', () => {
    const shop = new Shop([
      mount(0),
      mount(60, { pattern: 'Q', cavities: LIDS }),
      run('a', [1, 40], [0, 40]),
      run('b', [1, 40], [61, 100], { pattern: 'Q' }),
      pour('1', [1, 10], 60),
    ])
    expect(shop.made('pour:1')).toEqual({})
    const [view] = [...shop.castings.pours()]
    expect(view).toMatchObject({ open: true, reported: true, castings: 0 })
  })
})

describe('molds that nobody reported', () => {
  it('leave the pour there, with castings of no known number', () => {
    const shop = new Shop([mount(0), run('m', [1, 50], [0, 50]), pour('1', [41, 60], 30)])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 10, 'skillet B': 10 })
    expect(shop.gaps()).toEqual(['no-molds pour:1'])
    expect([...shop.castings.pours()]).toMatchObject([{ open: true, castings: 20 }])
  })

  it('say so when the pattern was never mounted', () => {
    const shop = new Shop([run('m', [1, 50], [0, 50]), pour('1', [1, 20], 30)])
    expect(shop.gaps()).toEqual(['no-pattern pour:1'])
    const [view] = [...shop.castings.pours()]
    expect(view).toMatchObject({ no: shop.no('pour:1'), open: true })
  })

  it('make the castings known as soon as the run is reported, late as it may be', () => {
    const shop = new Shop([pour('1', [1, 20], 30)])
    expect(shop.made('pour:1')).toEqual({})
    shop.say([run('m', [1, 50], [0, 50])])
    shop.say([mount(0)])
    expect(shop.made('pour:1')).toEqual({ 'skillet A': 20, 'skillet B': 20 })
    shop.say([], [mount(0)])
    expect(shop.made('pour:1')).toEqual({})
  })

  it('are told of when two pours say they filled the same ones', () => {
    const shop = new Shop([
      mount(0),
      run('m', [1, 50], [0, 50]),
      pour('1', [1, 20], 30),
      pour('2', [20, 30], 40),
    ])
    expect(shop.gaps()).toEqual(['poured-twice pour:2'])
  })
})

describe('sand and molds', () => {
  it('touch just the castings of their own molds', () => {
    const shop = new Shop([
      mount(0, { moldKg: 6 }),
      run('a', [1, 30], [0, 30], { sand: 's1' }),
      run('b', [31, 60], [30, 60], { sand: 's2' }),
      pour('1', [21, 50], 50),
    ])
    const castings = (molds: string) =>
      shop.castings.unitsOfMolds(shop.no(molds)).map(({ cavity, castings }) => [cavity, castings])
    expect(castings('molds:a')).toEqual([
      ['A', 10],
      ['B', 10],
    ])
    expect(castings('molds:b')).toEqual([
      ['A', 20],
      ['B', 20],
    ])
    expect([...shop.castings.sands()].map((no) => shop.record.name(no))).toEqual([
      'sand:s1',
      'sand:s2',
    ])
    expect(shop.castings.moldGrams(shop.no('pour:1'))).toBe(6000)
    expect(shop.castings.heaviestOf(shop.no('pour:1'))).toBe(2000)
    expect(shop.castings.unitsOnLine(shop.no('line:1'), 50 * MINUTE, 51 * MINUTE)).toHaveLength(2)
    expect(shop.castings.unitsOnLine(shop.no('line:1'), 56 * MINUTE, 57 * MINUTE)).toHaveLength(0)
  })
})
