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
afterAll(() => asking?.[Symbol.asyncDispose]())

const DAY_LONG = { from: '2026-03-02T00:00:00-06:00', to: '2026-03-03T00:00:00-06:00' }
const QUESTION = `query ($about: DefectQuestion!) { causes(about: $about) {
  __typename ... on NothingToExplain { sentence castings defective } ... on Causes { sentence } } }`

describe('Nothing to explain', () => {
  it.each([
    [
      'a stage nobody looks in',
      { stage: 'x-ray' },
      'stages in the record are after bake and audit',
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
