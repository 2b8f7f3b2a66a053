import { describe, expect, it } from 'vitest'
import { belt } from './belt.ts'
import { defect, handled, packed, Shop } from './shop.ts'

const LINE = { molds: 800, perPour: 10, perLoad: 15, strokes: 40 }

/** Castings by source, as filled in. */
function sources(shop: Shop, load: string): Record<string, number> {
  const fed = shop.castings.sourcesOf(shop.no(load))
  return Object.fromEntries(fed.map(({ of, castings }) => [shop.record.name(of), castings]))
}

/** Part of the castings of loads that is credited to the pour they are of. */
function right(shop: Shop, truth: Map<string, Record<string, number>>, loads: string[]): number {
  let [credited, all] = [0, 0]
  for (const load of loads) {
    const found = sources(shop, `load:${load}`)
    for (const [of, n] of Object.entries(truth.get(`load:${load}`)!)) {
      credited += Math.min(n, found[of] ?? 0)
      all += n
    }
  }
  return credited / all
}

describe('A load that named no pour', () => {
  it('is filled in from the pours that lack castings, K strokes before', () => {
    const { facts, truth } = belt({ ...LINE, silent: new Set(['L20']) })
    const shop = new Shop(facts)
    expect(right(shop, truth, ['L20'])).toBeGreaterThan(0.99)
    expect(shop.gaps()).toContain('filled-in load:L20')
    expect(shop.gaps().filter((gap) => gap.startsWith('unknown-origin'))).toEqual([])
  })

  it('is told by strokes even where the line stood for hours, and many say nothing', () => {
    const silent = new Set(['L12', 'L13', 'L15', 'L16', 'L18', 'L19', 'L20', 'L22', 'L30', 'L31'])
    const manner = { ...LINE, stop: { after: 300, minutes: 200 }, silent }
    const { facts, truth } = belt(manner)
    const shop = new Shop(facts)
    expect(right(shop, truth, [...silent])).toBeGreaterThan(0.9)
    const told = belt({ ...manner, silent: new Set() })
    for (const load of silent) {
      const [from] = Object.keys(told.truth.get(`load:${load}`)!)
      expect(sources(shop, `load:${load}`)[from!]).toBeGreaterThan(0)
    }
  })

  it('comes from somewhere unknown where a pour that could be it was never reported', () => {
    const { facts } = belt({ ...LINE, silent: new Set(['L20']), unreported: new Set(['30']) })
    const shop = new Shop(facts)
    // Molds 286 to 300 of L20: the whole of pour 30 has no report.
    expect(shop.chances('load:L20')['?']).toBeGreaterThan(0.5)
    expect(shop.gaps()).toContain('unknown-origin load:L20')
  })

  it('stays unknown where too few others teach how long castings take', () => {
    const { facts } = belt({ ...LINE, molds: 150, silent: new Set(['L4']) })
    const shop = new Shop(facts)
    expect(shop.chances('load:L4')).toEqual({ '?': 1 })
  })

  it('stays unknown in part where few others teach it: more examples leave less', () => {
    const part = (molds: number) => {
      const { facts } = belt({ ...LINE, molds, silent: new Set(['L6']) })
      return new Shop(facts).chances('load:L6')['?'] ?? 0
    }
    expect(part(260)).toBeGreaterThan(0.05)
    expect(part(420)).toBeLessThan(part(260))
    expect(part(420)).toBeGreaterThan(0)
    expect(part(800)).toBe(0)
  })

  it('keeps a trace of every pour that is not ruled out, and none of the others', () => {
    const { facts } = belt({ ...LINE, silent: new Set(['L20', 'L21', 'L40']) })
    const shop = new Shop(facts)
    const found = sources(shop, 'load:L20')
    expect(Object.keys(found).length).toBeGreaterThan(2)
    // L40 lacks its pours as well, but they came out hours later.
    for (const of of Object.keys(found)) expect(Number(of.slice(5))).toBeLessThan(40)
  })

  it('is told anew when it does say, and when others do', () => {
    const silent = new Set(['L20', 'L21'])
    const { facts, truth } = belt({ ...LINE, silent })
    const told = belt({ ...LINE, silent: new Set(['L21']) })
    const shop = new Shop(facts)
    const missing = told.facts.filter(
      (fact) => fact.what === 'load-source' && fact.of === 'load:L20',
    )
    shop.say(missing)
    expect(sources(shop, 'load:L20')).toEqual(truth.get('load:L20'))
    const afresh = new Shop(told.facts)
    expect(sources(shop, 'load:L21')).toEqual(sources(afresh, 'load:L21'))
    shop.say([], missing)
    expect(sources(shop, 'load:L20')).toEqual(sources(new Shop(facts), 'load:L20'))
  })

  it('takes scrap found in a pour off what it may have had of it', () => {
    const { facts } = belt({ ...LINE, silent: new Set(['L20']) })
    const before = sources(new Shop(facts), 'load:L20')
    const after = sources(new Shop([...facts, defect('pour:30', 4, 340)]), 'load:L20')
    expect(after['pour:30']).toBeLessThan(before['pour:30']! - 3)
  })
})

describe('A later step, and a pack, that named no load', () => {
  /** Loads of one pour, each tumbled twenty minutes after and packed an hour later. */
  function chain(silent: { tumble?: number; pack?: number }) {
    const { facts } = belt({ ...LINE, silent: new Set() })
    for (let i = 1; i <= 40; i++) {
      const from = 40 + 15 * i + 20
      const sources = { sources: [{ of: `load:L${i}`, castings: 15 }] }
      const of = silent.tumble === i ? {} : sources
      facts.push(...handled(`T${i}`, 'tumble', [from, from + 8], { castings: 15, ...of }))
      const packs = silent.pack === i ? {} : { [`load:T${i}`]: 15 }
      facts.push(...packed(`P${i}`, from + 60 + (i % 5), ['skillet', 15, packs]))
    }
    return new Shop(facts)
  }

  it('is filled in from the load that waited as long as others do', () => {
    const shop = chain({ tumble: 20 })
    expect(sources(shop, 'load:T20')['load:L20']).toBeCloseTo(15, 1)
    expect(shop.chances('load:T20')['?'] ?? 0).toBeLessThan(0.05)
  })

  it('is filled in for packs, too', () => {
    const shop = chain({ pack: 20 })
    const [pour] = Object.keys(shop.chances('load:T20'))
    expect(shop.chances('pack:P20')[pour!]).toBeGreaterThan(0.3)
    expect(shop.gaps()).toContain('filled-in pack:P20')
  })
})
