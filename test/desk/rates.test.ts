import { describe, expect, it } from 'vitest'
import { rateAxis, rateScale, rateStrip } from '../../services/desk/drawings/rate-marks.ts'
import { washIn, washInSentence } from '../../services/desk/drawings/wash-in.ts'
import { splitAsked, splitIn, splitParameters } from '../../services/desk/pages/rates/split.ts'
import { percentWords } from '../../services/desk/words/number.ts'

const of = (value: number, by: number) => ({ value, low: value - by, high: value + by })
const ROWS = [
  { plain: of(0.012, 0.001), steadied: 0.0121 },
  { plain: of(0.03, 0.02), steadied: 0.02 },
]
const ALL = of(0.015, 0.002)

const attribute = (svg: string, of: RegExp, name: string) =>
  Number(new RegExp(` ${name}="([-\\d.]+)"`).exec(of.exec(svg)![0])![1])

describe('Rates on one axis', () => {
  const scale = rateScale(ROWS, ALL.value, 300)

  it('begin at nothing, and stand where the figures say', () => {
    const [first, second] = ROWS.map((row) => rateStrip(row, ALL, scale))
    const x = (svg: string) => attribute(svg, /<circle[^>]*>/, 'cx') - 8
    expect(scale(0)).toBe(8)
    expect(x(second!) / x(first!)).toBeCloseTo(0.03 / 0.012, 1)
    const square = attribute(second!, /<rect class="ink"[^>]*>/, 'x') + 4 - 8
    expect(square / x(second!)).toBeCloseTo(0.02 / 0.03, 1)
    const line = /<line class="line"[^>]*>/
    expect(attribute(second!, line, 'x2') - attribute(second!, line, 'x1')).toBeGreaterThan(
      attribute(first!, line, 'x2') - attribute(first!, line, 'x1'),
    )
  })

  it('let no small row squeeze all others', () => {
    const odd = { plain: { value: 0.02, low: 0, high: 0.9 }, steadied: 0.016 }
    const wide = rateScale([...ROWS, odd], ALL.value, 300)
    expect(wide.ends[1]).toBeLessThan(0.1)
    expect(attribute(rateStrip(odd, ALL, wide), /<line[^>]*>/, 'x2')).toBeLessThanOrEqual(292)
  })

  it('name their ticks inside the strip', () => {
    expect(rateAxis(scale)).toContain('>0 %<')
  })
})

describe('A changeover, drawn', () => {
  const changeover = {
    days: ['2026-01-25', '2026-01-26', '2026-01-27'],
    groups: ['R14.0', 'R14.2'],
    share: [
      [1, 0.5, 0.1],
      [0, 0.4, 0.9],
    ],
    castings: [100, 100, 0],
    defective: [1, 2, 0],
  }

  it.each([320, 1_000])('fills each day as high as its part, at %i px', (width) => {
    const svg = washIn(changeover, width)
    const heights = [...svg.matchAll(/<rect class="rest"[^>]* height="([\d.]+)"/g)].map(([, h]) =>
      Number(h),
    )
    const [full] = heights
    const parts = changeover.share.flat()
    for (const [i, height] of heights.entries()) expect(height / full!).toBeCloseTo(parts[i]!, 2)
    // A day on which nothing was looked at has no dot, and is no day without defects.
    expect(svg.match(/<circle class="open-dot"/g)).toHaveLength(2)
    for (const [, y] of svg.matchAll(/ (?:y|cy|y1|y2)="(-?[\d.]+)"/g))
      expect(Number(y)).toBeGreaterThanOrEqual(0)
  })

  it('says what it draws', () => {
    expect(washInSentence(changeover)).toBe(
      'Part of the metal poured, 25 January to 27 January: R14.0 100 in 100 at first and 10 in 100 at last; ' +
        'R14.2 none at first and 90 in 100 at last.',
    )
  })
})

describe('A split in an address', () => {
  it('comes out as it went in', () => {
    for (const text of [
      'by=RECIPE&own=0.8',
      'by=LOT&lot=lot%3A3381',
      'by=PRODUCT&by2=MACHINE&step=OIL&fitting=1',
      'by=RECIPE&by2=SUPPLIER&supplier=A%26B&own=0.9&against=R14.0',
    ])
      expect(
        new URLSearchParams(splitParameters(splitIn(new URLSearchParams(text)))).toString(),
      ).toBe(text)
  })

  it('asks nothing while the lot is not named, and never by one thing twice', () => {
    expect(splitAsked(splitIn(new URLSearchParams('by=LOT')))).toBeUndefined()
    expect(splitIn(new URLSearchParams('by=LINE&by2=LINE')).by2).toBe('')
    expect(splitIn(new URLSearchParams('by=PERSON')).by).toBe('RECIPE')
  })
})

describe('A rate in words', () => {
  it.each([
    [0, '0 %'],
    [0.000123, '0.012 %'],
    [0.0184, '1.84 %'],
    [0.31, '31 %'],
  ])('%f is %s', (rate, words) => {
    expect(percentWords(rate)).toBe(words)
  })
})
