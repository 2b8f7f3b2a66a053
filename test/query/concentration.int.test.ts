import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Asking } from './asking.ts'
import { DAY } from './small-plant.ts'

// Heat H-1 melts 400 kg of PI-77 and 200 kg of a bay that holds nothing else, and is alloyed with 1 kg of
// IN-9; 250 kg of it go into L-1 with 0.5 kg more, and that is what P-1 is poured from.
const SHARE = ((600 / 601) * 250) / 250.5

const ASK = `
  query ($of: ConcentrationOf!) {
    concentration(of: $of) {
      __typename
      ... on Concentration {
        id sentence behaviour kept { value }
        assays { lot { id } percent { value interval { low high } } from lessThan }
        castings { certain possible unknown clear toHold }
        pours(standing: [CERTAIN, POSSIBLE, UNKNOWN, CLEAR]) {
          edges { node { id } percent { value interval { low high } } standing }
        }
        packs { edges { node { id } standing chance { value } } }
        cautions { code }
      }
      ... on NotAnalyzed { sentence lots { id } }
    }
  }`

describe('Concentration of an element from suspect lots', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(...DAY, {
      type: 'inspect.reading-taken.v1',
      time: '2026-03-03T09:00:00-06:00',
      data: {
        of: 'lot:PI-77',
        takenAt: '2026-03-03T08:00:00-06:00',
        readings: [{ quantity: 'Sn', value: { value: 400, spread: 20 }, unit: '59' }],
      },
    })
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  const ask = async (of: object) =>
    (await asking.ask(ASK, { of: { lots: ['lot:PI-77'], ...of } })).concentration
  const pourOf = (answer: Awaited<ReturnType<typeof ask>>) =>
    answer.pours.edges.find(({ node }: { node: { id: string } }) => node.id === 'pour:P-1')

  it('of one that stays is share times assay, and stands by the limit', async () => {
    const answer = await ask({ symbol: 'Cu', assayPercent: 0.3, limitPercent: 0.29 })
    expect(answer.behaviour).toBe('STAYS')
    const { percent, standing } = pourOf(answer)
    expect(percent.value).toBeCloseTo(0.3 * SHARE, 6)
    expect(percent.interval.low).toBeLessThan(0.29)
    expect(standing).toBe('POSSIBLE')
    expect(
      pourOf(await ask({ symbol: 'Cu', assayPercent: 0.3, limitPercent: 0.05 })).standing,
    ).toBe('CERTAIN')
    // Even all of it, weighed wrong by half, does not come to 1 %; and nothing else could be it.
    const none = await ask({ symbol: 'Cu', assayPercent: 0.3, limitPercent: 1 })
    expect(pourOf(none).standing).toBe('CLEAR')
  })

  it('counts what the metal held besides', async () => {
    const besides = { symbol: 'Cu', assayPercent: 0.3, besidesPercent: 0.1 }
    expect(pourOf(await ask({ ...besides, limitPercent: 0.15 })).standing).toBe('CERTAIN')
  })

  it('of one that leaves is never plain dilution, and its upper end takes none to have left', async () => {
    const answer = await ask({ symbol: 'Zn', assayPercent: 0.3, limitPercent: 0.15 })
    const { percent, standing } = pourOf(answer)
    expect(answer.behaviour).toBe('LEAVES')
    expect(percent.value).toBeCloseTo(0.3 * 0.3 * SHARE, 6)
    expect(percent.interval.high).toBeGreaterThanOrEqual(0.3 * SHARE)
    expect(percent.interval.low).toBeLessThan(0.01 * 0.3 * SHARE)
    expect(standing).toBe('POSSIBLE')
  })

  it('clears nothing that a lot known only by a limit is in', async () => {
    const answer = await ask({ symbol: 'Pb', limitPercent: 0.5 })
    expect(answer.assays[0]).toMatchObject({ from: 'CERTIFICATE', lessThan: true })
    expect(answer.cautions.map(({ code }: { code: string }) => code)).toContain(
      'limit-clears-nothing',
    )
    expect(pourOf(answer).standing).toBe('UNKNOWN')
    expect(answer.castings.toHold).toBeGreaterThan(0)
  })

  it('takes the newest reading of the plant before the certificate', async () => {
    const answer = await ask({ symbol: 'Sn', limitPercent: 0.01 })
    expect(answer.assays[0]).toMatchObject({ from: 'LABORATORY', lessThan: false })
    expect(answer.assays[0].percent.value).toBeCloseTo(0.04, 9)
    expect(answer.assays[0].percent.interval.high).toBeCloseTo(0.04 + 1.959964 * 0.002, 6)
  })

  it('says what is missing where nobody analyzed the lot', async () => {
    const answer = await ask({ symbol: 'Te', limitPercent: 0.001 })
    expect(answer.__typename).toBe('NotAnalyzed')
    expect(answer.lots).toEqual([{ id: 'lot:PI-77' }])
  })

  it('follows the pours into packs', async () => {
    const answer = await ask({ symbol: 'Cu', assayPercent: 0.3, limitPercent: 0.05 })
    const [pack] = answer.packs.edges
    expect(pack.node.id).toMatch(/^pack:K-/)
    expect(pack.chance.value).toBeGreaterThan(0.3)
  })

  it('comes out again by its number', async () => {
    const first = await ask({ symbol: 'Cu', assayPercent: 0.3, limitPercent: 0.15 })
    const { answer } = await asking.ask(
      `query ($id: ID!) { answer(id: $id) { sentence ... on Concentration { castings { toHold } } } }`,
      { id: first.id },
    )
    expect(answer).toEqual({
      sentence: first.sentence,
      castings: { toHold: first.castings.toHold },
    })
  })

  it.each([
    { symbol: 'Xx', limitPercent: 0.1 },
    { symbol: 'Cu', limitPercent: 0 },
    { symbol: 'Cu', limitPercent: 0.1, besidesPercent: 0.1 },
    { symbol: 'Cu', limitPercent: 0.1, assayPercent: 101 },
    { symbol: 'Cu', limitPercent: 0.1, lots: [] },
    { symbol: 'Cu', limitPercent: 0.1, lots: ['heat:H-1'] },
  ])('refuses %j', async (of) => {
    expect(await asking.codeOf(ASK, { of: { lots: ['lot:PI-77'], ...of } })).toBe('BAD_USER_INPUT')
  })
})
