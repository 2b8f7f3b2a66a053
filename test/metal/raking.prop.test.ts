import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Link, rake } from '../../services/metal/castings/raking.ts'
import { runs } from '../runs.ts'

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

describe('Raking', () => {
  it('meets every row and keeps below every column wherever that can be; nearest to the weights', () => {
    const tables = fc
      .tuple(fc.integer({ min: 1, max: 5 }), fc.integer({ min: 1, max: 5 }))
      .chain(([rows, columns]) =>
        fc.tuple(
          matrix(rows, columns, { min: 0, max: 9 }),
          matrix(rows, columns, { min: 0, max: 30 }),
          fc.array(fc.integer({ min: 0, max: 10 }), { minLength: columns, maxLength: columns }),
        ),
      )
    fc.assert(
      fc.property(tables, ([weights, real, spare]) => {
        // Some table that fits is known, so rows can be met.
        const table = real.map((row, i) => row.map((n, j) => (weights[i]![j]! > 0 ? n : 0)))
        const rows = table.map((row) => row.reduce((a, b) => a + b, 0))
        const columns = spare.map((n, j) => n + table.reduce((sum, row) => sum + row[j]!, 0))
        const links = linksOf(weights)
        const { amounts, moved } = rake(links, rows, columns, { tolerance: 1e-7, rounds: 3000 })
        const slack = moved > 1e-7 ? 0.5 : 1e-3
        for (const [j, sum] of sums(links, amounts, 'column', columns.length).entries())
          expect(sum).toBeLessThanOrEqual(columns[j]! + 1e-6)
        for (const [i, sum] of sums(links, amounts, 'row', rows.length).entries()) {
          expect(sum).toBeLessThanOrEqual(rows[i]! + 1e-6)
          expect(sum).toBeGreaterThan(rows[i]! - slack)
        }
      }),
      runs(2000),
    )
  })
})

function matrix(rows: number, columns: number, of: { min: number; max: number }) {
  const row = fc.array(fc.integer(of), { minLength: columns, maxLength: columns })
  return fc.array(row, { minLength: rows, maxLength: rows })
}
