import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { balanceDuring, sumsOf } from '../../services/metal/balance.ts'
import { Castings } from '../../services/metal/castings.ts'
import { Melt } from '../../services/metal/melt.ts'
import { runs } from '../runs.ts'
import { statements } from './days.ts'
import { HandRecord } from './record.ts'

describe('A balance of days as bad as reports get', () => {
  it('has every casting of every pour once, and sums that are those of its rows', () => {
    fc.assert(
      fc.property(statements, (said) => {
        const record = new HandRecord()
        const castings = new Castings(record)
        for (const facts of said) record.say(facts)
        castings.apply(said.flat().map((fact) => record.numbered(fact)))
        const melt = new Melt(record.book, record, castings)
        const view = { book: record.book, things: record, melt, castings, asOf: Number.MAX_VALUE }
        const rows = balanceDuring(
          view,
          'works',
          Number.NEGATIVE_INFINITY,
          Number.POSITIVE_INFINITY,
        )
        const pours = rows.filter(({ stage }) => stage === 'pour')
        // A pour that was reported stands in the balance once, with all it made.
        expect(new Set(pours.map(({ thing }) => thing)).size).toBe(pours.length)
        const made = [...castings.pours()].filter(({ reported }) => reported)
        expect(pours.reduce((sum, row) => sum + row.in, 0)).toBe(
          made.reduce((sum, pour) => sum + Math.round(1000 * pour.castings), 0),
        )
        for (const row of rows) {
          for (const part of [row.in, row.out, row.left]) {
            expect(Number.isInteger(part)).toBe(true)
            expect(part).toBeGreaterThanOrEqual(0)
          }
          expect(row.out + row.left + row.unaccounted).toBe(row.in)
        }
        for (const sum of sumsOf(rows)) expect(sum.out + sum.left + sum.unaccounted).toBe(sum.in)
        // What a pour leaves standing is what its castings are said to be doing.
        const standing = new Map<number, number>()
        for (const { thing, castings: count, place, fate } of castings.nodes())
          if (fate === undefined && (place === 'IN_PROCESS' || place === 'UNACCOUNTED'))
            standing.set(thing, (standing.get(thing) ?? 0) + count)
        for (const { thing, left, unaccounted } of pours)
          expect(Math.abs(left + unaccounted - 1000 * (standing.get(thing) ?? 0))).toBeLessThan(1)
      }),
      runs(2000),
    )
  })
})
