import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Fact } from '../../services/events/fact.ts'
import { enumerate, type Move, waysOf } from './enumerate.ts'
import { handled, mount, packed, pour, repacked, run, Shop } from './shop.ts'

const ONE = [{ cavity: 'A', product: 'skillet' }]

/** A small line whose counts fit: two pours, drums, a tote that is seldom empty, packs, packed anew. */
class SmallLine {
  readonly facts: Fact[] = [
    mount(0, { cavities: ONE }),
    run('m', [1, 9], [0, 20]),
    pour('1', [1, 4], 5),
    pour('2', [5, 9], 10),
  ]
  readonly moves: Move[] = []
  readonly #there = new Map([
    ['pour:1', 4],
    ['pour:2', 5],
  ])
  #minute = 60
  #names = 0

  /** Does one thing more; `a` and `b` choose what and how many. */
  go(what: 'drum' | 'tote' | 'blast' | 'pack' | 'repack', a: number, b: number): void {
    this.#minute += 10
    const from = this.#minute
    const load = `L${++this.#names}`
    switch (what) {
      case 'drum': {
        const sources = ['pour:1', 'pour:2'].flatMap((of, i) => {
          const castings = this.#some(of, i === 0 ? a : b)
          return castings > 0 ? [{ of, castings }] : []
        })
        this.#into(`load:${load}`, sources)
        const castings = sources.reduce((sum, one) => sum + one.castings, 0)
        if (castings > 0)
          this.facts.push(...handled(load, 'tumble', [from, from + 5], { castings, sources }))
        return
      }
      case 'tote': {
        const of = this.#pick('load', a)
        if (!of) return
        const castings = this.#some(of, 9)
        this.#into('tote:T', [{ of, castings }])
        this.facts.push(
          ...handled(load, 'wash', [from, from + 5], {
            castings,
            tote: 'T',
            sources: [{ of, castings }],
          }),
        )
        return
      }
      case 'blast': {
        const castings = this.#some('tote:T', b)
        if (castings === 0) return
        this.#into(`load:${load}`, [{ of: 'tote:T', castings }])
        this.facts.push(
          ...handled(load, 'blast', [from, from + 5], {
            castings,
            sources: [{ of: 'tote:T', castings }],
          }),
        )
        return
      }
      case 'pack': {
        const of = this.#pick('load', a)
        if (!of) return
        const castings = this.#some(of, b)
        this.#into(`pack:${load}`, [{ of, castings }])
        this.facts.push(...packed(load, from, ['skillet', castings, { [of]: castings }]))
        return
      }
      default: {
        const [of, into] = [this.#pick('pack', a), this.#pick('pack', a + 1)]
        if (!of || !into || of === into) return
        const castings = this.#some(of, b)
        this.#into(into, [{ of, castings }])
        this.facts.push(repacked(into.slice(5), of.slice(5), castings, from))
      }
    }
  }

  #pick(kind: string, a: number): string | undefined {
    const full = [...this.#there].filter(([place, n]) => place.startsWith(kind) && n > 0)
    return full[a % full.length]?.[0]
  }

  #some(place: string, most: number): number {
    return Math.min(this.#there.get(place) ?? 0, most)
  }

  #into(to: string, sources: { of: string; castings: number }[]): void {
    for (const { of, castings } of sources) {
      this.moves.push({ from: of, to, castings })
      this.#there.set(of, this.#there.get(of)! - castings)
      this.#there.set(to, (this.#there.get(to) ?? 0) + castings)
    }
  }
}

const steps = fc.array(
  fc.tuple(
    fc.constantFrom('drum', 'tote', 'blast', 'pack', 'repack'),
    fc.integer({ min: 1, max: 4 }),
    fc.integer({ min: 1, max: 4 }),
  ),
  { minLength: 3, maxLength: 14 },
)

describe('a small line', () => {
  it('has every casting expected where counting all ways it can have gone expects it', () => {
    let compared = 0
    fc.assert(
      fc.property(steps, (list) => {
        const line = new SmallLine()
        for (const [what, a, b] of list) line.go(what as 'drum', a, b)
        const shop = new Shop(line.facts)
        const expected = enumerate(
          { 'pour:1': { 'pour:1': 4 }, 'pour:2': { 'pour:2': 5 } },
          line.moves,
        )
        const share = (of: string) =>
          shop.castings.ledger.forward(
            shop.castings.unitsOf(shop.no(of)).map(({ slot }): [number, number] => [slot, 1]),
          )
        const shares = { 'pour:1': share('pour:1'), 'pour:2': share('pour:2') }
        const found = new Map<string, Record<string, number>>()
        for (const { thing, slot, castings } of shop.castings.nodes()) {
          const place = shop.record.name(thing)
          const there = found.get(place) ?? { 'pour:1': 0, 'pour:2': 0 }
          for (const one of ['pour:1', 'pour:2'] as const) {
            there[one] = (there[one] ?? 0) + castings * shares[one][slot]!
          }
          found.set(place, there)
        }
        for (const [place, held] of Object.entries(expected)) {
          for (const one of ['pour:1', 'pour:2']) {
            expect(found.get(place)?.[one] ?? 0).toBeCloseTo(held[one] ?? 0, 9)
            compared++
          }
        }
        const known = new Set(['unaccounted', 'not-empty'])
        expect([...shop.castings.gaps()].filter(({ sort }) => !known.has(sort))).toEqual([])
      }),
      { numRuns: 1000 },
    )
    expect(compared).toBeGreaterThan(5000)
  })

  it('has at least one of a pour in a place as often as counting all ways says', () => {
    let [compared, between, told] = [0, 0, 0]
    fc.assert(
      fc.property(steps, fc.constantFrom('pour:1', 'pour:2'), (list, pour) => {
        const line = new SmallLine()
        for (const [what, a, b] of list) line.go(what as 'drum', a, b)
        const shop = new Shop(line.facts)
        const { castings } = shop
        const leaves = castings.unitsOf(shop.no(pour))
        const groups = Map.groupBy(castings.nodes(), ({ thing }) => shop.record.name(thing))
        const start = { 'pour:1': { 'pour:1': 4 }, 'pour:2': { 'pour:2': 5 } }
        const chances = new Map<string, number>()
        const counts = new Map<string, number[]>()
        for (const [state, chance] of waysOf(start, line.moves)) {
          for (const [place, held] of Object.entries(state)) {
            const n = held[pour] ?? 0
            if (n > 0) chances.set(place, (chances.get(place) ?? 0) + chance)
            counts.set(place, [...(counts.get(place) ?? []), n])
          }
        }
        const all = new Map(leaves.map(({ slot }) => [slot, 1]))
        const atLeastOne = castings.atLeastOne((slot) => all.get(slot))
        const bounds = castings.hardBounds(
          { low: all, high: all },
          { sure: new Set(), perhaps: new Set() },
        )
        for (const [place, nodes] of groups) {
          const found = atLeastOne(nodes)
          expect(found.exact).toBe(true)
          expect(found.chance).toBeCloseTo(chances.get(place) ?? 0, 9)
          const { least, most } = bounds(nodes)
          expect(least).toBeLessThanOrEqual(Math.min(...counts.get(place)!) + 1e-9)
          expect(most).toBeGreaterThanOrEqual(Math.max(...counts.get(place)!) - 1e-9)
          if (least > 0) told++
          compared++
          if (found.chance > 1e-9 && found.chance < 1 - 1e-9) between++
        }
      }),
      { numRuns: 2000 },
    )
    expect(compared).toBeGreaterThan(5000)
    expect(between).toBeGreaterThan(500)
    expect(told).toBeGreaterThan(500)
  })
})
