import { describe, expect, it } from 'vitest'
import { type Link, rake } from '../../services/metal/castings/raking.ts'

/** All links of a table, row by row; zeros are no links. */
function linksOf(table: number[][]): Link[] {
  return table.flatMap((row, i) =>
    row.flatMap((weight, column) => (weight > 0 ? [{ row: i, column, weight }] : [])),
  )
}

function sums(links: Link[], amounts: Float64Array, by: 'row' | 'column', count: number): number[] {
  const all = new Array<number>(count).fill(0)
  for (const [i, link] of links.entries()) all[link[by]]! += amounts[i]!
  return all
}

const FINE = { tolerance: 1e-10, rounds: 20_000 }

describe('Raking', () => {
  it('of a table to margins of another total gives the table the odds ratios keep', () => {
    // Worked by hand: [[40, 30], [35, 50]] to rows 100, 100 and columns 100, 100. The odds ratio
    // 40·50/(30·35) = 40/21 stays, so x²/(100 − x)² = 40/21 and x = 100·√(40/21)/(1 + √(40/21)).
    const links = linksOf([
      [40, 30],
      [35, 50],
    ])
    const { amounts } = rake(links, [100, 100], [100, 100], FINE)
    const root = Math.sqrt(40 / 21)
    const x = (100 * root) / (1 + root)
    for (const [i, value] of [x, 100 - x, 100 - x, x].entries())
      expect(amounts[i]).toBeCloseTo(value, 7)
  })

  it('comes to the table of a well-known example', () => {
    // The four by four table of encyclopedia articles on the method, from memory: there the first row
    // is 64.6, 46.3, 35.4, 3.8. Totals of rows and columns are its own.
    const links = linksOf([
      [40, 30, 20, 10],
      [35, 50, 100, 75],
      [30, 80, 70, 120],
      [20, 30, 40, 50],
    ])
    const { amounts } = rake(links, [150, 300, 400, 150], [200, 300, 400, 100], FINE)
    const known = [64.6, 46.3, 35.4, 3.8, 50, 68.2, 156.5, 25.4, 56.7, 144.4, 145.1, 53.8]
    for (const [i, value] of [...known, 28.7, 41.2, 63, 17].entries())
      expect(Math.abs(amounts[i]! - value)).toBeLessThan(0.1)
  })

  it('leaves a structural zero zero, and finds the only table there is', () => {
    // Rows 10, 20 and columns 10, 20; the second row cannot reach the first column.
    const links = linksOf([
      [1, 1],
      [0, 1],
    ])
    const { amounts } = rake(links, [10, 20], [10, 20], { tolerance: 1e-9, rounds: 200_000 })
    expect(amounts[0]).toBeCloseTo(10, 2)
    expect(amounts[1]).toBeCloseTo(0, 2)
    expect(amounts[2]).toBeCloseTo(20, 2)
  })

  it('does not use up more than there is, nor all of it where less is asked', () => {
    const links = linksOf([
      [3, 1],
      [1, 1],
    ])
    const { amounts } = rake(links, [8, 8], [5, Number.POSITIVE_INFINITY], FINE)
    expect(sums(links, amounts, 'row', 2)).toEqual([expect.closeTo(8, 6), expect.closeTo(8, 6)])
    expect(amounts[0]! + amounts[2]!).toBeCloseTo(5, 6)
  })

  it('falls short on the side that lacks it', () => {
    const links = linksOf([[1], [3]])
    const { amounts } = rake(links, [10, 30], [20], FINE)
    expect([...amounts]).toEqual([expect.closeTo(5, 9), expect.closeTo(15, 9)])
  })
})
