import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Asking, someone } from './asking.ts'
import { DAY } from './small-plant.ts'

const WINDOW = { from: '2026-03-02T00:00:00-06:00', to: '2026-03-03T00:00:00-06:00' }
const READ = `__typename
  ... on NothingToExplain { sentence castings defective }
  ... on Rates { id sentence leftOut tooMixed misfitHeats withoutCastings overall { castings defective rate { value } }
    trend { z }
    changeover { days groups share kg castings defective }
    rows { totalCount edges { node {
      group counted { castings defective rate { value interval { low high } } }
      adjusted { value } times { value } chanceAlone stretch { from to } charged { material written weighed weighedKg }
    } } } }`
const ASK = `query ($about: DefectQuestion!, $by: [RateBy!]!, $ownMetal: Float, $lot: ID, $supplier: String,
    $material: String, $shifts: [String!], $step: Step, $withoutMisfits: Boolean, $adjustFor: [RateBy!]! = [PRODUCT]) {
  defectRates(about: $about, by: $by, ownMetal: $ownMetal, lot: $lot, supplier: $supplier, material: $material,
    shifts: $shifts, step: $step, withoutMisfits: $withoutMisfits, adjustFor: $adjustFor) { ${READ} } }`
const ANALYST = someone('analyst')

// biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
type Answer = any

const inspected = (inspection: string, of: string, castings: number, defective: number) => ({
  type: 'inspect.castings-inspected.v1',
  time: '2026-03-02T12:30:00-06:00',
  data: {
    ...{ inspection, of: [of], stage: 'audit', castings, defective },
    defects: defective > 0 ? [{ defect: 'rust', castings: defective }] : [],
  },
})

describe('Rates of the small plant', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(
      ...DAY,
      inspected('I-2', 'pour:P-1', 20, 5),
      inspected('I-3', 'pour:P-2', 10, 0),
    )
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  const rates = async (by: string[], more: object = {}, stage = 'after bake'): Promise<Answer> => {
    const variables = { ownMetal: 0.9, withoutMisfits: false, shifts: ['06:00', '14:00', '22:00'] }
    const about = { stage, window: WINDOW }
    return (await asking.ask(ASK, { ...variables, about, by, ...more }, ANALYST)).defectRates
  }
  const groups = ({ rows }: Answer) =>
    Object.fromEntries(rows.edges.map(({ node }: Answer) => [node.group.join(', '), node]))

  // 58 castings of load LD-1 were looked at, 3 of them bad. 40 of 60 in it are of P-1, 20 of P-2.
  const [OF_1, OF_2] = [(58 * 40) / 60, (58 * 20) / 60]
  // H-1: 400 + 200 kg of PI-77 charged as C-1, 1 kg of IN-9; 0.5 kg of it to 250 kg in the ladle.
  const RECIPE_1 = (600 / 601) * (250 / 250.5)
  // H-2: 349 kg of H-1 left, and 500 kg of returns.
  const RECIPE_2 = (349 / 849) * (600 / 601)

  it('by recipe count a pour only from so much of its own metal on', async () => {
    const found = await rates(['RECIPE'])
    expect(found.tooMixed).toBeCloseTo(OF_2, 9)
    expect(found.leftOut).toBeCloseTo(OF_2, 9)
    const row = groups(found)['R10 revision 14']
    expect(row.counted.castings).toBeCloseTo(OF_1, 9)
    expect(row.counted.defective).toBeCloseTo(2, 9)
    expect(row.stretch).toEqual({
      from: '2026-03-02T13:15:00.000Z',
      to: '2026-03-02T13:15:00.000Z',
    })
    expect(found.sentence).toBe(
      'So far: 2 of 39 castings are bad. All castings are in one row, R10 revision 14; choose another split. ' +
        '19 castings are in no group: too mixed, or not recorded.',
    )
  })

  it('by recipe show what was weighed beside what is written', async () => {
    const { charged } = groups(await rates(['RECIPE']))['R10 revision 14']
    // Bay 4 was filled with PI-77 alone.
    expect(charged).toEqual([
      { material: 'pig iron', written: 0.4, weighed: 1, weighedKg: 600 },
      { material: 'returns', written: 0.6, weighed: 0, weighedKg: 0 },
    ])
  })

  it('show day by day whose metal was poured', async () => {
    const { changeover } = await rates(['RECIPE'])
    // 140 kg as weighed, and ten molds of 7 kg.
    expect(changeover).toMatchObject({
      days: ['2026-03-02'],
      groups: ['R10 revision 14'],
      kg: [210],
    })
    expect(changeover.share[0][0]).toBeCloseTo((140 * RECIPE_1 + 70 * RECIPE_2) / 210, 9)
    expect(changeover.castings[0]).toBeCloseTo(58, 9)
    expect(changeover.defective[0]).toBeCloseTo(3, 9)
    expect((await rates(['LINE'])).changeover).toBeNull()
  })

  it('by supplier and material go by the share of their lots', async () => {
    const iron = groups(await rates(['SUPPLIER'], { supplier: 'Ridge Iron' }))
    expect(Object.keys(iron)).toEqual(['from 10 in 100'])
    // P-1 has 1/601 of 250 in 250.5 and 0.5 in 250.5; P-2 349/849 of 1/601.
    const found = await rates(['MATERIAL'], { material: 'inoculant' })
    const inoculant = groups(found)
    expect(Object.keys(inoculant)).toEqual(['under 1 in 1,000', '1 in 1,000 to 1 in 100'])
    expect(inoculant['under 1 in 1,000'].counted.castings).toBeCloseTo(OF_2, 9)
    expect(inoculant['1 in 1,000 to 1 in 100'].counted.castings).toBeCloseTo(OF_1, 9)
    expect(found.trend.z).toBeCloseTo(0, 9)
    const share = (140 * ((1 / 601) * (250 / 250.5) + 0.5 / 250.5) + (70 * 349) / 849 / 601) / 210
    expect(found.changeover.share[0][0]).toBeCloseTo(share, 9)
  })

  it("by shift go by the plant's clock", async () => {
    expect(Object.keys(groups(await rates(['SHIFT'])))).toEqual(['06:00 to 14:00'])
    // P-1 was begun at 07:15, P-2 at 07:55.
    const found = groups(await rates(['SHIFT', 'DAY'], { shifts: ['07:30', '19:30'] }))
    expect(found['19:30 to 07:30, 2026-03-02'].counted.castings).toBeCloseTo(OF_1, 9)
    expect(found['07:30 to 19:30, 2026-03-02'].counted.castings).toBeCloseTo(OF_2, 9)
  })

  it('by two splits of the same pours hold pour by pour', async () => {
    const found = await rates(['MATERIAL', 'SHIFT'], {
      ...{ material: 'inoculant', shifts: ['07:30', '19:30'] },
    })
    expect(Object.keys(groups(found)).sort()).toEqual([
      '1 in 1,000 to 1 in 100, 19:30 to 07:30',
      'under 1 in 1,000, 07:30 to 19:30',
    ])
  })

  it('have no number where one group has nothing bad, and say so', async () => {
    const shifts = ['07:30', '19:30']
    const found = await rates(['SHIFT'], { shifts }, 'audit')
    const [bad, good] = ['19:30 to 07:30', '07:30 to 19:30'].map((name) => groups(found)[name])
    expect(bad.counted).toMatchObject({ castings: 20, defective: 5 })
    expect(good.counted).toMatchObject({ castings: 10, defective: 0, rate: { value: 0 } })
    expect([bad.times, good.times]).toEqual([null, null])
    expect(bad.chanceAlone).toBeGreaterThan(0)
  })

  it('are made fair for what is asked', async () => {
    const shifts = ['07:30', '19:30']
    const plain = await rates(['SHIFT'], { shifts, adjustFor: [] }, 'audit')
    for (const { adjusted, counted } of Object.values<Answer>(groups(plain)))
      expect(adjusted.value).toBeCloseTo(counted.rate.value, 9)
    // Within its own shift each is as bad as all of them, and there is none to compare it with.
    const own = await rates(['SHIFT'], { shifts, adjustFor: ['SHIFT'] }, 'audit')
    const bad = groups(own)['19:30 to 07:30']
    expect(bad.adjusted.value).toBeCloseTo(5 / 30, 9)
    expect(bad.chanceAlone).toBeNull()
  })

  it('leave out heats that do not fit only where there are any', async () => {
    const found = await rates(['LINE'], { withoutMisfits: true })
    expect(found).toMatchObject({ misfitHeats: 0, withoutCastings: 0 })
    expect(found.overall.castings).toBeCloseTo(58, 9)
  })

  it('come out again by their number', async () => {
    const found = await rates(['SHIFT'], { shifts: ['07:30', '19:30'] })
    const { answer } = await asking.ask(
      `query ($id: ID!) { answer(id: $id) { ${READ.replace(/\.\.\. on NothingToExplain.*/, '')} } }`,
      { id: found.id },
    )
    expect(answer).toEqual(found)
  })

  it.each([
    ['a supplier nobody knows', { by: ['SUPPLIER'], supplier: 'Nobody' }],
    ['a supplier without its split', { by: ['LINE'], supplier: 'Ridge Iron' }],
    ['a split by material without one', { by: ['MATERIAL'] }],
    ['to be made fair for a lot', { by: ['LINE'], adjustFor: ['LOT'] }],
    ['shifts out of order', { by: ['SHIFT'], shifts: ['22:00', '06:00'] }],
    ['a shift at no time of day', { by: ['SHIFT'], shifts: ['24:00'] }],
  ])('refuse %s', async (_, more) => {
    const about = { stage: 'after bake', window: WINDOW }
    const variables = { about, ownMetal: 0.9, withoutMisfits: false, shifts: ['06:00'], ...more }
    expect(await asking.codeOf(ASK, variables)).toBe('BAD_USER_INPUT')
  })

  it('say in a sentence when there is nothing', async () => {
    const about = { stage: 'audit', window: { from: WINDOW.to, to: '2026-03-04T00:00:00-06:00' } }
    const found = await rates(['LINE'], { about })
    expect(found).toEqual({
      ...{ __typename: 'NothingToExplain', castings: 0, defective: 0 },
      sentence: 'No castings were looked at in stage audit in this window: ask for a longer one.',
    })
  })
})
