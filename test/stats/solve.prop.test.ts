import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Covariance } from '../../services/stats/causes/shared.ts'
import { System } from '../../services/stats/causes/solve.ts'
import { runs } from '../runs.ts'

/** More groups than are solved for outright, so that the rest is left to steps. */
const [ROWS, GROUPS] = [60, 90]

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true })
const numbers = (length: number, min: number, max: number) =>
  fc.array(number(min, max), { minLength: length, maxLength: length })

/** Rows in up to four groups, each with a variance and a weight. */
const systems = fc.record({
  groups: fc.array(
    fc.uniqueArray(fc.tuple(fc.nat(GROUPS - 1), number(0.1, 1)), {
      minLength: 1,
      maxLength: 4,
      selector: ([group]) => group,
    }),
    { minLength: ROWS, maxLength: ROWS },
  ),
  variance: numbers(GROUPS, 0, 1),
  root: numbers(ROWS, 0.1, 5),
  wanted: numbers(ROWS, -1, 1),
})

describe('A system with shared luck', () => {
  it('is solved: what the solution is multiplied to is what was asked for', () => {
    fc.assert(
      fc.property(systems, ({ groups, variance, root, wanted }) => {
        const entries = groups.flat()
        const shared = {
          rows: ROWS,
          start: Int32Array.from({ length: ROWS + 1 }, (_, r) => groups.slice(0, r).flat().length),
          column: Int32Array.from(entries, ([group]) => group),
          part: Float64Array.from(entries, ([, part]) => part),
          of: new Int32Array(GROUPS),
        }
        const covariance = new Covariance(shared, Float64Array.from(variance))
        const v = Float64Array.from(wanted)
        const weights = Float64Array.from(root)
        const x = new System(covariance, weights).solve(v, new Float64Array(ROWS))
        const back = covariance.times(x, new Float64Array(ROWS))
        const size = Math.hypot(...v.map((each, r) => each * weights[r]!))
        const off = back.map((each, r) => (each + x[r]! / weights[r]! ** 2 - v[r]!) * weights[r]!)
        expect(Math.hypot(...off)).toBeLessThan(0.02 * size + 1e-9)
      }),
      runs(400),
    )
  })
})
