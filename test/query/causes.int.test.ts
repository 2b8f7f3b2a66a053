import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Asking } from './asking.ts'
import { DAY } from './small-plant.ts'

let asking: Asking
beforeAll(async () => {
  asking = await Asking.start()
  await asking.record.say(...DAY, {
    type: 'inspect.castings-inspected.v1',
    time: '2026-03-02T12:30:00-06:00',
    data: {
      inspection: 'I-2',
      of: ['load:LD-1'],
      stage: 'audit',
      castings: 12,
      defective: 12,
      defects: [{ defect: 'rust', castings: 12 }],
    },
  })
})
/** Looks of two products, of which one has nothing to compare; and one later, where neither has. */
beforeAll(async () => {
  const looks = [
    ['I-3', '12:40', 'skillet 10', 20, 12],
    ['I-4', '12:50', 'skillet 10', 20, 1],
    ['I-5', '12:55', 'lid 10', 18, 0],
    ['I-6', '13:30', 'skillet 10', 16, 16],
    ['I-7', '13:40', 'lid 10', 18, 0],
  ] as const
  await asking.record.say(
    ...looks.map(([inspection, at, product, castings, defective]) => ({
      type: 'inspect.castings-inspected.v1',
      time: `2026-03-02T${at}:00-06:00`,
      data: {
        ...{ inspection, of: ['load:LD-1'], stage: 'sort', product, castings, defective },
        defects: defective > 0 ? [{ defect: 'rust', castings: defective }] : [],
      },
    })),
  )
})
afterAll(() => asking?.[Symbol.asyncDispose]())

const DAY_LONG = { from: '2026-03-02T00:00:00-06:00', to: '2026-03-03T00:00:00-06:00' }
const QUESTION = `query ($about: DefectQuestion!) { causes(about: $about) {
  __typename ... on NothingToExplain { sentence castings defective } ... on Causes { sentence } } }`

describe('Nothing to explain', () => {
  it.each([
    [
      'a stage nobody looks in',
      { stage: 'x-ray' },
      'stages in the record are after bake, audit and sort',
    ],
    [
      'a window without a look',
      { stage: 'after bake', window: { from: '2026-03-04T00:00:00Z', to: '2026-03-05T00:00:00Z' } },
      'No castings were looked at',
    ],
    [
      'a defect nobody found',
      { stage: 'after bake', defects: ['warp'] },
      'None of the 58 castings',
    ],
    ['too few', { stage: 'after bake', defects: ['blister'] }, 'Only 3 of 58 castings had blister'],
    ['nothing but defects', { stage: 'audit' }, 'All 12 castings looked at had a defect'],
  ])('is said in a sentence for %s', async (_, about, sentence) => {
    const { causes } = await asking.ask(QUESTION, { about: { window: DAY_LONG, ...about } })
    expect(causes.__typename).toBe('NothingToExplain')
    expect(causes.sentence).toContain(sentence)
  })

  it('is an error where the window runs backwards', async () => {
    const window = { from: DAY_LONG.to, to: DAY_LONG.from }
    expect(await asking.codeOf(QUESTION, { about: { stage: 'audit', window } })).toBe(
      'BAD_USER_INPUT',
    )
  })
})

const CAUTIONS = `query ($about: DefectQuestion!) { causes(about: $about) {
  ... on Causes { sentence weighed cautions { code sentence } } } }`

describe('Where there is something to explain', () => {
  const ofDay = (window: object) => ({ about: { stage: 'sort', window } })
  const morning = { from: DAY_LONG.from, to: '2026-03-02T13:00:00-06:00' }
  const afternoon = { from: '2026-03-02T13:00:00-06:00', to: DAY_LONG.to }

  it('a caution names products that tell nothing, and what is the same for all', async () => {
    const { causes } = await asking.ask(CAUTIONS, ofDay(morning))
    const said = new Map(
      causes.cautions.map(({ code, sentence }: Record<string, string>) => [code, sentence]),
    )
    expect(said.get('products-that-tell-nothing')).toContain(
      'none of the castings of lid 10 was bad, which tells nothing',
    )
    expect(said.get('the-same-for-all')).toContain('line')
    expect(JSON.stringify(causes)).not.toMatch(/NaN|undefined|Infinity/)
  })

  it('but no product that has both good and bad, there is not', async () => {
    const { causes } = await asking.ask(QUESTION, ofDay(afternoon))
    expect(causes.__typename).toBe('NothingToExplain')
    expect(causes.sentence).toContain('All castings of skillet 10 had a defect and none of lid 10')
  })
})
