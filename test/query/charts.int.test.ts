import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Asking } from './asking.ts'
import type { Saying } from './record.ts'

// NIST/SEMATECH e-Handbook 6.3.2.2, flow rate, said as compactabilities of sand batches.
const FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]

const mulled = (sand: string, minute: number, compactabilityPercent: unknown): Saying => ({
  type: 'mold.sand-mulled.v1',
  time: `2026-03-02T06:${String(minute).padStart(2, '0')}:00-06:00`,
  data: { sand, mill: 'M1', compactabilityPercent },
})

const OF = `of: {quantity: "compactability",
  window: {from: "2026-03-02T00:00:00-06:00", to: "2026-03-03T00:00:00-06:00"}}`
const READ = `__typename ... on Chart { id sentence unit at thing value centre lowerLimit upperLimit
    spread { value upperLimit } below signals { point code } }
  ... on TooLittle { sentence }`

describe('A chart', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(...FLOW.map((value, i) => mulled(`S-${i}`, i, value)))
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  it('has the published limits, and comes out again by its number', async () => {
    const { chart } = await asking.ask(`{ chart(${OF}) { ${READ} } }`)
    expect(chart.value).toEqual(FLOW)
    expect(chart.thing[3]).toBe('sand:S-3')
    expect(chart.centre[0]).toBeCloseTo(50.81, 6)
    expect(Math.abs(chart.upperLimit[0] - 55.8041)).toBeLessThan(2e-3)
    expect(chart.spread.value).toHaveLength(9)
    expect(chart.sentence).toBe(
      '10 points of compactability, in percent: 50.8 in the middle, limits 45.8 to 55.8; none breaks a rule.',
    )
    const { answer } = await asking.ask(
      `query ($id: ID!) { answer(id: $id) { ${READ} } }`.replace(
        '... on TooLittle { sentence }',
        '',
      ),
      { id: chart.id },
    )
    expect(answer).toEqual(chart)
  })

  it('of cumulative sums tells both, and of a moving average what is remembered', async () => {
    const { chart } = await asking.ask(`{ chart(${OF}, form: CUMULATIVE_SUM) { ${READ} } }`)
    expect(chart.below.every((value: number) => value <= 0)).toBe(true)
    expect(chart.upperLimit[0]).toBe(-chart.lowerLimit[0])
    const average = await asking.ask(`{ chart(${OF}, form: MOVING_AVERAGE) { ${READ} } }`)
    expect(average.chart.upperLimit[9]).toBeGreaterThan(average.chart.upperLimit[0])
  })

  it('shows the newest points when there are more', async () => {
    const { chart } = await asking.ask(`{ chart(${OF}, points: 4) { ${READ} } }`)
    expect(chart.value).toEqual(FLOW.slice(-4))
  })

  it('says what it would take when there is too little', async () => {
    const none = await asking.ask(`{ chart(${OF.replace('compactability', 'wind')}) { ${READ} } }`)
    expect(none.chart.sentence).toBe(
      'No reading of wind lies in that stretch. A chart needs two readings at least.',
    )
    const means = await asking.ask(`{ chart(${OF}, form: MEANS_BY_RANGE) { ${READ} } }`)
    expect(means.chart.sentence).toMatch(/two readings each at least: ask for INDIVIDUALS/)
  })

  it('refuses a window the wrong way round and too many points', async () => {
    const turned = `{ chart(of: {quantity: "C", window: {from: "2026-03-03T00:00:00Z",
      to: "2026-03-02T00:00:00Z"}}) { __typename } }`
    expect(await asking.codeOf(turned)).toBe('BAD_USER_INPUT')
    expect(await asking.codeOf(`{ chart(${OF}, points: 1001) { __typename } }`)).toBe(
      'BAD_USER_INPUT',
    )
  })
})

describe('Capability', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    const values = [...FLOW, ...FLOW.map((value) => value + 0.5)]
    await asking.record.say(...values.map((value, i) => mulled(`S-${i}`, i, value)))
    await asking.record.say(mulled('S-30', 30, { above: 60 }))
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  const READ = `__typename ... on Capability { sentence values beyondMethod outside { value }
      withinSpread { value interval { low high } } withinNearer { value } }
    ... on TooLittle { sentence }`

  it('is told against the limits given; what lies beyond the method is left out and said', async () => {
    const { capability } = await asking.ask(
      `{ capability(${OF}, lowest: 48, highest: 56) { ${READ} } }`,
    )
    expect(capability).toMatchObject({ values: 20, beyondMethod: 1 })
    // 47.6 and 47.8 lie below 48.
    expect(capability.outside.value).toBeCloseTo(2 / 20, 12)
    const { value, interval } = capability.withinSpread
    expect(interval.low).toBeLessThan(value)
    expect(value).toBeLessThan(interval.high)
  })

  it('has no width with one limit, and asks for one at least', async () => {
    const { capability } = await asking.ask(`{ capability(${OF}, lowest: 48) { ${READ} } }`)
    expect(capability.withinSpread).toBeNull()
    expect(await asking.codeOf(`{ capability(${OF}) { __typename } }`)).toBe('BAD_USER_INPUT')
    expect(await asking.codeOf(`{ capability(${OF}, lowest: 9, highest: 1) { __typename } }`)).toBe(
      'BAD_USER_INPUT',
    )
  })

  it('needs readings enough', async () => {
    const { capability } = await asking.ask(
      `{ capability(${OF.replace('compactability', 'moisture')}, lowest: 1) { ${READ} } }`,
    )
    expect(capability.sentence).toMatch(/Capability needs 20 at least/)
  })
})
