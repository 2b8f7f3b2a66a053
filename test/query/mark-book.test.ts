import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Span } from '../../services/events/span.ts'
import { MarkBook } from '../../services/query/record/mark-book.ts'
import { ThingBook } from '../../services/query/record/thing-book.ts'
import { fitsMark } from '../../services/query/things/marks.ts'
import { runs } from '../runs.ts'

const NOW = 100

/** Marks in the order given, on packs numbered from 1 on. */
function bookOf(marks: readonly string[], spans: readonly Span[] = [{ since: 1, until: 1e9 }]) {
  const things = new ThingBook()
  const book = new MarkBook(things)
  let packs = 0
  const add = (mark: string, pack = ++packs) => {
    things.add(pack, { plant: 'north', name: `pack:${pack}` })
    const fact = { what: 'pack-marked', of: pack, mark, at: 1 } as const
    book.note({ fact, said: { spans, tie: 0 }, n: 0 })
  }
  for (const mark of marks) add(mark)
  return { book, add, find: (mark: string) => [...book.packs('north', mark, NOW).values()].flat() }
}

describe('Marks', () => {
  it('are found whatever their case, spaces and dashes, with ? for one sign, the newest pack first', () => {
    const { find, book } = bookOf(['ab 12-7', 'AB-127', 'AB%287', 'AB_2\\7', 'AB\u2013\u00a0127'])
    expect(find('AB–12 7')).toEqual(['AB\u2013\u00a0127', 'AB-127', 'ab 12-7'])
    expect(find('ab1?7')).toEqual(['AB\u2013\u00a0127', 'AB-127', 'ab 12-7'])
    expect(find('ab%287')).toEqual(['AB%287'])
    expect(find('ab_2\\7')).toEqual(['AB_2\\7'])
    expect(find('ab12')).toEqual([])
    expect(find('ab?')).toEqual([])
    expect(book.packs('south', 'ab127', NOW).size).toBe(0)
  })

  it('count while what says so is in force, and are near what is written for ever', () => {
    const { book } = bookOf(['K-1'], [{ since: 10, until: 20 }])
    expect([9, 10, 19, 20].map((asOf) => book.packs('north', 'k1', asOf).size)).toEqual([
      0, 1, 1, 0,
    ])
    expect(book.near('north', ['k2', 'k1', 'K 1'])).toEqual(['K-1'])
    expect(book.near('south', ['k1'])).toEqual([])
  })

  it('are listed once for each pack', () => {
    const { add, find } = bookOf(['A-1'])
    add('A-1', 1)
    add('a1', 1)
    expect(find('A1')).toEqual(['A-1', 'a1'])
  })

  it('fit what was read as they do when looked at one by one, whenever they came in', () => {
    const sign = fc.constantFrom(...'AB1-Ä/')
    const text = fc.array(sign, { maxLength: 6 }).map((signs) => signs.join(''))
    const read = fc.array(fc.oneof(sign, fc.constant('?')), { maxLength: 6 })
    fc.assert(
      fc.property(fc.array(text), fc.array(text), read, (first, then, signs) => {
        const written = signs.join('')
        const { add, find } = bookOf(first)
        find('A?')
        for (const mark of then) add(mark)
        const fitting = [...first, ...then].filter((mark) => fitsMark(written, mark))
        expect(find(written)).toEqual(fitting.reverse())
      }),
      runs(400),
    )
  })
})
