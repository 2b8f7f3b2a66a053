import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Link } from '../../services/metal/castings/raking.ts'
import { rake } from '../../services/metal/castings/raking.ts'
import { wholeTable } from '../../services/metal/castings/whole-table.ts'
import { runs } from '../runs.ts'
import { belt } from './belt.ts'
import { HandRecord } from './record.ts'
import { Shop } from './shop.ts'

/** Belts long enough to teach, of which some loads say nothing and some pours have no report. */
const belts = fc
  .record({
    perPour: fc.integer({ min: 3, max: 9 }),
    perLoad: fc.integer({ min: 4, max: 9 }),
    strokes: fc.integer({ min: 5, max: 30 }),
    loads: fc.integer({ min: 14, max: 44 }),
    silent: fc.uniqueArray(fc.integer({ min: 1, max: 44 }), { minLength: 1, maxLength: 5 }),
    unreported: fc.uniqueArray(fc.integer({ min: 1, max: 60 }), { maxLength: 1 }),
    stop: fc.option(
      fc.record({
        after: fc.integer({ min: 10, max: 150 }),
        minutes: fc.integer({ min: 5, max: 500 }),
      }),
      { nil: undefined },
    ),
  })
  .map(({ loads, silent, unreported, stop, ...line }) => {
    const manner = { ...line, molds: loads * line.perLoad + line.strokes + 1 }
    const names = new Set(silent.filter((n) => n <= loads).map((n) => `L${n}`))
    return {
      ...belt({
        ...manner,
        silent: names,
        unreported: new Set(unreported.map(String)),
        ...(stop ? { stop } : {}),
      }),
      silent: [...names],
    }
  })

describe('Sources filled in', () => {
  it('never rule out the pour it was: that has a part in it, or some of it stays unknown', () => {
    fc.assert(
      fc.property(belts, ({ facts, truth, silent }) => {
        const shop = new Shop(facts)
        for (const load of silent) {
          if (!truth.has(`load:${load}`)) continue
          const chances = shop.chances(`load:${load}`)
          for (const pour of Object.keys(truth.get(`load:${load}`)!))
            expect((chances[pour] ?? 0) + (chances['?'] ?? 0)).toBeGreaterThan(0)
        }
      }),
      runs(1000),
    )
  })

  it('close on both sides: no pour gives more than it made, and no load gets more than it counts', () => {
    fc.assert(
      fc.property(belts, ({ facts }) => {
        const shop = new Shop(facts)
        for (const { made, unrecorded, ...there } of shop.castings.balance().values()) {
          const all = Object.values(there).reduce((sum, n) => sum + n, 0)
          expect(all).toBeCloseTo(made + unrecorded, 6)
        }
        const gaps = [...shop.castings.gaps()].map(({ sort }) => sort)
        expect(gaps.filter((sort) => sort === 'overdrawn')).toEqual([])
      }),
      { numRuns: 300 },
    )
  })

  it('are the same in whatever order and batches things are said', () => {
    fc.assert(
      fc.property(
        belts.chain(({ facts }) =>
          fc.tuple(
            fc.constant(facts),
            fc.shuffledSubarray(facts, { minLength: facts.length }),
            fc.integer({ min: 20, max: 90 }),
          ),
        ),
        ([facts, shuffled, batch]) => {
          const record = new HandRecord()
          for (const fact of facts) record.numbered(fact)
          const whole = new Shop(facts, record)
          const bits = new Shop([], record)
          for (let i = 0; i < shuffled.length; i += batch) bits.say(shuffled.slice(i, i + batch))
          expect(standing(bits)).toEqual(standing(whole))
        },
      ),
      { numRuns: 100 },
    )
  })

  it('come to whole amounts that keep to both sides and leave a trace of each', () => {
    const tables = fc.array(
      fc.record({
        row: fc.nat(4),
        column: fc.nat(4),
        weight: fc.double({ min: 0.001, max: 9, noNaN: true }),
        real: fc.nat(40),
      }),
      { minLength: 1, maxLength: 14 },
    )
    fc.assert(
      fc.property(tables, (drawn) => {
        const byCell = new Map(drawn.map((link) => [`${link.row} ${link.column}`, link]))
        const links: Link[] = [...byCell.values()]
        const real = [...byCell.values()].map((link) => link.real + 1)
        const sums = (of: ArrayLike<number>, by: 'row' | 'column') => {
          const all = [0, 0, 0, 0, 0]
          for (const [i, link] of links.entries()) all[link[by]]! += of[i]!
          return all
        }
        const [rows, columns] = [sums(real, 'row'), sums(real, 'column')]
        const { amounts } = rake(links, rows, columns)
        const whole = wholeTable(links, amounts, rows, columns)
        for (const amount of whole) expect(amount).toBeGreaterThanOrEqual(1)
        const got = sums(whole, 'row')
        for (const [i, row] of rows.entries()) expect(got[i]).toBeLessThanOrEqual(row)
      }),
      runs(2000),
    )
  })
})

/** Where every casting is and of which pour it may be. */
function standing(shop: Shop): string[] {
  const lines: string[] = []
  for (const { thing, castings, place } of shop.castings.nodes()) {
    const name = shop.record.name(thing)
    const chances = Object.entries(shop.chances(name)).sort()
    lines.push(`${name} ${place} ${castings} ${JSON.stringify(chances)}`)
  }
  return lines.sort()
}
