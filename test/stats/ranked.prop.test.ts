import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ranked } from '../../services/stats/causes/ranked.ts'

const anything = fc.double({ noNaN: true, noDefaultInfinity: true })
/** As measures are: many alike, some far off. */
const measured = fc.oneof(
  fc.constantFrom(0, 1, 1.5),
  fc.double({ min: -5, max: 5, noNaN: true }),
  anything,
)

describe('Values at places of their order', () => {
  it('are those of all in order', () => {
    fc.assert(
      fc.property(
        fc.array(measured, { minLength: 1, maxLength: 80 }),
        fc.nat(1000),
        (values, at) => {
          const places = [0, at % values.length, values.length - 1, at % values.length]
          const inOrder = [...values].sort((a, b) => a - b)
          expect(ranked(Float64Array.from(values), places).map((one) => one + 0)).toEqual(
            places.map((place) => inOrder[place]! + 0),
          )
        },
      ),
      { numRuns: 200 },
    )
  })

  it('are none of nothing', () => {
    expect(ranked(new Float64Array(), [])).toEqual([])
  })
})
