import { describe, expect, it } from 'vitest'
import { nothingFollowed, type View } from '../../services/metal/followed.ts'
import { Reach } from '../../services/metal/reach.ts'
import { handled, mount, pour, run, Shop } from './shop.ts'

/** Pour 1 makes 40 skillets, pour 2 makes 60. */
const POURED = [
  mount(0),
  run('m', [1, 100], [0, 100]),
  pour('1', [1, 20], 10),
  pour('2', [21, 50], 20),
]

const put = (load: string, of: string, until: number) =>
  handled(load, 'dry', [until - 5, until], {
    castings: 30,
    tote: 'T',
    sources: [{ of, castings: 30 }],
  })
const took = (load: string, from: number, castings: number, emptied?: boolean) =>
  handled(load, 'oil', [from, from + 5], {
    castings,
    sources: [{ of: 'tote:T', castings, ...(emptied ? { emptied } : {}) }],
  })

/** How each load stands to castings of a pour, by following them as touched. */
function standings(shop: Shop, of: string): Record<string, string> {
  const { castings, record } = shop
  const view = { castings, things: record, book: record.book } as unknown as View
  const followed = nothingFollowed()
  for (const { slot } of castings.unitsOf(shop.no(of))) followed.touched.add(slot)
  const rows = new Reach(view, followed).scope({ touched: true }).nodes
  return Object.fromEntries(rows.map(({ node, standing }) => [record.name(node.thing), standing]))
}

describe('A tote filled and drawn from by two clocks', () => {
  it('may hold still what was all taken, where more was put in minutes later', () => {
    const facts = (until: number) => [
      ...POURED,
      ...put('L1', 'pour:1', 60),
      ...took('B1', 70, 30),
      ...put('L2', 'pour:2', until),
      ...took('B2', 90, 20),
    ]
    expect(standings(new Shop(facts(72)), 'pour:1')['load:B2']).toBe('unknown')
    expect(standings(new Shop(facts(80)), 'pour:1')['load:B2']).toBe('clear')
  })

  it('may have been drawn from after it was filled, where that is told minutes later', () => {
    const shop = new Shop([
      ...POURED,
      ...put('L1', 'pour:1', 60),
      ...took('B1', 70, 20),
      ...put('L2', 'pour:2', 73),
    ])
    expect(shop.chances('load:B1')).toEqual({ 'pour:1': 1 })
    expect(standings(shop, 'pour:2')['load:B1']).toBe('unknown')
    const late = new Shop([
      ...POURED,
      ...put('L1', 'pour:1', 60),
      ...took('B1', 70, 20),
      ...put('L2', 'pour:2', 80),
    ])
    expect(standings(late, 'pour:2')['load:B1']).toBe('clear')
  })

  it('may have been filled after it was emptied, where that is told minutes earlier', () => {
    const facts = (until: number) => [
      ...POURED,
      ...put('L1', 'pour:1', until),
      ...took('B1', 70, 30, true),
      ...put('L2', 'pour:2', 80),
      ...took('B2', 90, 20),
    ]
    expect(standings(new Shop(facts(68)), 'pour:1')['load:B2']).toBe('unknown')
    expect(standings(new Shop(facts(60)), 'pour:1')['load:B2']).toBe('clear')
  })
})
