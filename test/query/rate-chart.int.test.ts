import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Asking, someone } from './asking.ts'
import type { Saying } from './record.ts'
import { DAY } from './small-plant.ts'

// Orange-juice cans, 50 a sample. Source: NIST/SEMATECH e-Handbook 6.3.3.2.
const CANS = [
  12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7,
  13, 9, 6,
]
// Flaws on five pieces. Source: Montgomery and Runger, exercise 16-25.
const FLAWS = [7, 6, 8, 10, 24, 6, 5, 4, 8, 11, 15, 8, 4, 16, 11, 12, 8, 6, 5, 9, 7, 14, 8, 21]

const looked = (stage: string, i: number, castings: number, data: object): Saying => ({
  type: 'inspect.castings-inspected.v1',
  time: `2026-03-04T06:${String(i).padStart(2, '0')}:00-06:00`,
  data: { inspection: `${stage}-${i}`, of: ['pour:P-1'], stage, castings, ...data },
})

/** As many as are on each piece at most, then the next sort of flaw. */
const flaws = (count: number) =>
  Array.from({ length: Math.ceil(count / 5) }, (_, i) => ({
    defect: `flaw ${i}`,
    castings: Math.min(5, count - 5 * i),
  }))

const ASK = `query ($about: DefectQuestion!, $per: PointPer!, $form: RateChartForm!) {
  rateChart(about: $about, per: $per, form: $form) { __typename
    ... on RateChart { id sentence at name lookedAt found value centre lowerLimit upperLimit below inSpreads
      signals { point code } }
    ... on NothingToExplain { sentence } } }`

describe('A chart of a rate', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(
      ...DAY,
      ...CANS.map((bad, i) =>
        looked('cans', i, 50, { defective: bad, defects: [{ defect: 'leak', castings: bad }] }),
      ),
      ...FLAWS.map((count, i) => looked('flaws', i, 5, { defects: flaws(count) })),
      looked('clean', 0, 9, { defective: 0, defects: [] }),
      looked('clean', 1, 9, { defective: 0, defects: [] }),
    )
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  const ask = async (stage: string, per: string, form: string) => {
    const about = { stage, window: { from: '2026-03-01T00:00:00Z', to: '2026-03-05T00:00:00Z' } }
    return (await asking.ask(ASK, { about, per, form }, someone('analyst'))).rateChart
  }
  const beyond = (chart: { signals: { point: number; code: string }[] }) =>
    chart.signals.filter(({ code }) => code === 'beyond-limit').map(({ point }) => point + 1)

  it('of shares has the published limits and points', async () => {
    const chart = await ask('cans', 'INSPECTION', 'SHARE')
    expect(chart.found).toEqual(CANS)
    expect(chart.centre[0]).toBeCloseTo(0.2313, 4)
    expect(chart.upperLimit[0]).toBeCloseTo(0.4102, 4)
    expect(chart.lowerLimit[0]).toBeCloseTo(0.0524, 4)
    expect(beyond(chart)).toEqual([15, 23])
    expect(chart.name[14]).toBe('inspection:cans-14')
    expect(chart.sentence).toMatch(
      /^30 points, 23.1 in 100 in the middle, limits of the last 5.2 in 100 to 41.0 in 100; /,
    )
  })

  it('widened is as wide as points differ from their neighbours', async () => {
    const chart = await ask('cans', 'INSPECTION', 'SHARE_WIDENED')
    const steps = CANS.slice(1).map((bad, i) => Math.abs(bad - CANS[i]!) / 50)
    const mean = steps.reduce((sum, step) => sum + step, 0) / steps.length
    // All samples are of one size, so it is the chart of single values: 1.128 is d2 of two.
    expect(chart.upperLimit[0]).toBeCloseTo(chart.centre[0] + (3 * mean) / 1.1284, 4)
  })

  it('of defects a casting counts several on one', async () => {
    const chart = await ask('flaws', 'INSPECTION', 'PER_CASTING')
    expect(chart.found).toEqual(FLAWS)
    expect(chart.centre[0]).toBeCloseTo(1.94167, 5)
    expect(chart.upperLimit[0]).toBeCloseTo(3.81116, 5)
    expect(chart.lowerLimit[0]).toBeCloseTo(0.07217, 5)
    expect(beyond(chart)).toEqual([5, 24])
  })

  it('by heat counts castings of mixed loads by their chance', async () => {
    const chart = await ask('after bake', 'HEAT', 'SHARE')
    // 58 castings with 3 bad ones, two thirds of them of P-1 and heat H-1.
    expect(chart.name).toEqual(['heat:H-1', 'heat:H-2'])
    expect(chart.lookedAt[0]).toBeCloseTo((58 * 40) / 60, 9)
    expect(chart.found[1]).toBeCloseTo(1, 9)
    expect(chart.at).toEqual(['2026-03-02T13:15:00.000Z', '2026-03-02T13:55:00.000Z'])
  })

  it('that remembers is in standard deviations, and comes out again by its number', async () => {
    const average = await ask('cans', 'INSPECTION', 'MOVING_AVERAGE')
    expect([average.inSpreads, average.centre[0], average.below]).toEqual([true, 0, null])
    const sums = await ask('cans', 'INSPECTION', 'CUMULATIVE_SUM')
    expect([sums.upperLimit[0], sums.lowerLimit[0], sums.below.length]).toEqual([5, -5, 30])
    const { answer } = await asking.ask(
      'query ($id: ID!) { answer(id: $id) { ... on RateChart { value } } }',
      { id: sums.id },
    )
    expect(answer.value).toEqual(sums.value)
  })

  it.each([
    ['after bake', 'DAY', 'SHARE', 'All castings are in one point: a chart needs two'],
    ['after bake', 'HEAT', 'MOVING_AVERAGE', 'The points do not differ'],
    ['after bake', 'HEAT', 'SHARE_WIDENED', 'The points do not differ'],
    ['clean', 'INSPECTION', 'PER_CASTING', 'None of the castings looked at is bad'],
    ['clean', 'INSPECTION', 'SHARE', 'None of the castings looked at is bad'],
    ['x-ray', 'DAY', 'SHARE', 'Nothing was looked at in a stage called x-ray'],
  ])('says why there is none: %s by %s as %s', async (stage, per, form, sentence) => {
    const chart = await ask(stage, per, form)
    expect(chart.__typename).toBe('NothingToExplain')
    expect(chart.sentence).toContain(sentence)
  })
})
