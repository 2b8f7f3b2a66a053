import { describe, expect, it } from 'vitest'
import {
  contractWord,
  enumWord,
  estimate,
  plantTime,
  total,
} from '../../services/query/things/amounts.ts'
import { chemistryOf } from '../../services/query/things/chemistry.ts'
import { patternOf, runsPoured } from '../../services/query/things/mold-things.ts'

describe('A quantity', () => {
  it('has an interval only where its error was stated', () => {
    expect(estimate(undefined)).toBe(null)
    expect(estimate({ value: 5 })).toEqual({ value: 5, basis: 'REPORTED', interval: null })
    const { interval } = estimate({ value: 100, spread: 3, repeat: 4 })!
    // Both deviations together are 5; 1.959964 of them hold 95 in 100.
    expect(interval!.low).toBeCloseTo(100 - 5 * 1.959964, 9)
    expect(interval!.high).toBeCloseTo(100 + 5 * 1.959964, 9)
  })

  it('added to others knows its error only when all of them do', () => {
    expect(total([])).toBe(null)
    expect(total([{ value: 1, spread: 0.3 }, { value: 2 }])).toMatchObject({
      value: 3,
      interval: null,
    })
    const { value, interval } = total([
      { value: 1, spread: 3 },
      { value: 2, spread: 4 },
    ])!
    expect(value).toBe(3)
    expect(interval!.high).toBeCloseTo(3 + 5 * 1.959964, 9)
  })
})

describe('A chemistry', () => {
  // Carbon equivalent and saturation of four irons, worked out from the forms in the schema.
  it.each([
    [{ C: 3.5, Si: 2.2, P: 0.05 }, 4.25, 0.9819],
    [{ C: 3.2, Si: 1.8, P: 0.05 }, 3.8167, 0.8676],
    [{ C: 3.4, Si: 2.0, P: 0.1 }, 4.1, 0.941],
    [{ C: 3.6, Si: 2.4, P: 0.03 }, 4.41, 1.0263],
  ])('of %j has its carbon equivalent and saturation', (percents, equivalent, saturation) => {
    const elements = Object.entries(percents).map(([symbol, value]) => [symbol, { value }])
    const chemistry = chemistryOf(Object.fromEntries(elements)) as Record<string, { value: number }>
    expect(chemistry.carbonEquivalentPercent!.value).toBeCloseTo(equivalent, 4)
    expect(chemistry.saturation!.value).toBeCloseTo(saturation, 4)
  })

  it('of which an element is missing or only a limit has neither', () => {
    const short = { C: { value: 3.5 }, Si: { value: 2.2 } }
    expect(chemistryOf(short)).toMatchObject({ carbonEquivalentPercent: null, saturation: null })
    expect(chemistryOf({ ...short, P: { value: 0.01, bound: 'below' } })).toMatchObject({
      carbonEquivalentPercent: null,
      saturation: null,
    })
    expect(chemistryOf({})).toBe(null)
  })
})

describe('A moment', () => {
  it('is shown by the clock that the report was written with', () => {
    const at = Date.parse('2026-03-02T13:00:00Z')
    expect(plantTime(at, '2026-03-02T06:00:00-06:00')).toBe('2026-03-02T07:00:00-06:00')
    expect(plantTime(at + 250, '2026-03-02T06:00:00+05:30')).toBe('2026-03-02T18:30:00.250+05:30')
    expect(plantTime(at, '2026-03-02T06:00:00Z')).toBe('2026-03-02T13:00:00.000Z')
  })
})

describe('A word of the contract', () => {
  it('is written as the schema writes it, and back', () => {
    expect(enumWord('shake-out')).toBe('SHAKE_OUT')
    expect(contractWord('SHAKE_OUT')).toBe('shake-out')
  })
})

describe('The pattern of a run', () => {
  const mounted = (at: number, fromMold?: number, series?: string) => ({
    what: 'pattern-mounted' as const,
    of: 1,
    at,
    pattern: 'P',
    cavities: [],
    ...(fromMold !== undefined && { fromMold }),
    ...(series !== undefined && { series }),
  })

  it('is the mounting of its series with the greatest first mold up to its own, then the latest', () => {
    const all = [
      mounted(1, 1),
      mounted(2, 100),
      mounted(3, 100),
      mounted(4, 500),
      mounted(9, 1, 'night'),
    ]
    expect(patternOf({ pattern: 'P', first: 150 }, all)?.at).toBe(3)
    expect(patternOf({ pattern: 'P', first: 50 }, all)?.at).toBe(1)
    expect(patternOf({ pattern: 'P', first: 50, series: 'night' }, all)?.at).toBe(9)
    expect(patternOf({ pattern: 'Q', first: 50 }, all)).toBeUndefined()
  })
})

describe('The runs a pour filled', () => {
  const run = (of: number, first: number, last: number, from: number, series?: string) => ({
    what: 'molds-made' as const,
    ...{ of, first, last, from, at: from + 1, via: 9, pattern: 'P' },
    ...(series !== undefined && { series }),
  })

  it('are for each mold the latest begun before the pour ended', () => {
    const runs = [run(1, 1, 100, 0), run(2, 40, 60, 5), run(3, 50, 55, 50), run(4, 90, 200, 6)]
    expect(runsPoured({ first: 30, last: 95, endedAt: 10 }, runs)).toEqual([1, 2, 4])
    expect(runsPoured({ first: 30, last: 95, endedAt: 60 }, runs)).toEqual([1, 2, 3, 4])
    expect(runsPoured({ first: 300, last: 2 ** 50, endedAt: 10 }, runs)).toEqual([])
  })

  it('are of the series the pour names', () => {
    const runs = [run(1, 1, 100, 0, 'day'), run(2, 1, 100, 5, 'night')]
    expect(runsPoured({ first: 3, last: 4, endedAt: 10, series: 'day' }, runs)).toEqual([1])
    expect(runsPoured({ first: 3, last: 4, endedAt: 10 }, runs)).toEqual([2])
  })
})
