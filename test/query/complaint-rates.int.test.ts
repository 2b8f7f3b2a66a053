import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Asking, someone } from './asking.ts'
import type { Saying } from './record.ts'
import { DAY } from './small-plant.ts'

// K-1 left on 2 March at 14:00 with 12 skillets. K-2 leaves an hour later with all that is in it: 4 skillets
// and 8 lids.
const SHIPPED: Saying = {
  type: 'ship.packs-shipped.v1',
  time: '2026-03-02T15:00:00-06:00',
  data: { shipment: 'SH-2', customer: 'Copse End', lines: [{ pack: 'K-2', castings: 12 }] },
}
// Of the 30 skillets that came out of the sand one was scrapped, yet 30 were packed: one in thirty is of no
// known pour, and in no group. Castings are counted in thousandths.
const KNOWN = 29 / 30

const complaint = (number: string, day: string, data: object): Saying => ({
  type: 'inspect.complaint-received.v1',
  time: `2026-03-${day}T15:00:00-06:00`,
  data: { complaint: number, receivedAt: `2026-03-${day}T15:00:00-06:00`, ...data },
})
const marked = (text: string) => ({ marks: [{ place: 'carton', text }] })
const examined = (number: string, defect: string, confirmed: boolean): Saying => ({
  type: 'inspect.complaint-examined.v1',
  time: '2026-03-20T15:00:00-06:00',
  data: { complaint: number, defect, confirmed },
})

const ASK = `query ($of: ComplaintsOf!, $by: [RateBy!]!, $shifts: [String!]) {
  complaintRates(of: $of, by: $by, shifts: $shifts) { __typename
    ... on NothingToExplain { sentence }
    ... on Rates { id sentence cautions { code sentence } overall { castings defective }
      heard { complained counted elsewhere notPlaced notConfirmed halfWithinDays mostWithinDays tooYoung }
      rows { edges { node { group counted { castings defective } } } } } } }`

describe('Complaints over castings shipped', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(
      ...DAY,
      SHIPPED,
      // B7 or B8, of a skillet: 12 of K-1, 4 of K-2.
      complaint('C-1', '04', { ...marked('K26-0412-B?'), product: 'skillet 10', defect: 'rust' }),
      // K-2 alone bears it: 4 of 12 are skillets.
      complaint('C-2', '06', { ...marked('k26 0412 b8'), defect: 'rust' }),
      complaint('C-3', '06', { ...marked('K26-0412-B7'), defect: 'rust' }),
      examined('C-3', 'rust', false),
      complaint('C-4', '07', { ...marked('Z9'), defect: 'rust', castings: 2 }),
      complaint('C-5', '07', {
        ...marked('K26-0412-B7'),
        defect: 'warp',
        customer: 'Harbor Goods',
      }),
      // Before anything had left.
      complaint('C-6', '01', { ...marked('K26-0412-B7'), defect: 'chip' }),
    )
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  const ask = async (by: string[], of: object = {}) => {
    const window = { from: '2026-03-02T00:00:00-06:00', to: '2026-03-03T00:00:00-06:00' }
    const variables = { of: { window, ...of }, by, shifts: ['06:00', '14:00', '22:00'] }
    return (await asking.ask(ASK, variables, someone('analyst'))).complaintRates
  }
  // biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
  const groups = ({ rows }: any) =>
    // biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
    Object.fromEntries(rows.edges.map(({ node }: any) => [node.group.join(', '), node.counted]))

  it('of a mark that fits several packs count each by how much of it was shipped', async () => {
    const found = await ask(['PRODUCT'], { defects: ['rust'] })
    const by = groups(found)
    expect(by['skillet 10'].castings).toBeCloseTo(16 * KNOWN, 3)
    expect(by['lid 10'].castings).toBeCloseTo(8, 9)
    // C-1 is of a skillet; of C-2 a third is.
    expect(by['skillet 10'].defective).toBeCloseTo((1 + 4 / 12) * KNOWN, 3)
    expect(by['lid 10'].defective).toBeCloseTo(8 / 12, 9)
    expect(found.heard).toMatchObject({ complained: 4, notPlaced: 2, notConfirmed: 1 })
    expect(found.heard.counted).toBeCloseTo(2, 9)
    expect(found.sentence).toMatch(
      /2 of 23 castings shipped were complained of.* 1 casting is in no group/,
    )
  })

  it('are split as inspections are, by chance over pours', async () => {
    const by = groups(await ask(['FURNACE'], { defects: ['rust'] }))
    expect(by.F1.castings).toBeCloseTo(16 * KNOWN + 8, 3)
    expect(by.F1.defective).toBeCloseTo((1 + 4 / 12) * KNOWN + 8 / 12, 3)
  })

  it('say how late they come', async () => {
    const found = await ask(['PRODUCT'], { defects: ['rust'] })
    // Of C-1 three quarters are K-1 after 49 hours and a quarter K-2 after 48; C-2 came after 96.
    expect(found.heard.halfWithinDays).toBeCloseTo(49 / 24, 9)
    expect(found.heard.mostWithinDays).toBeCloseTo(4, 9)
    expect(found.cautions.map(({ code }: { code: string }) => code)).toEqual([
      'association-is-not-cause',
      'complaints-come-late',
      'told-only',
    ])
    expect(found.cautions[1].sentence).toContain(
      'half within 2.0 days of shipping, nine in ten within 4.0 days',
    )
  })

  it('of packs shipped at another time are not counted here, and said', async () => {
    const window = { from: '2026-03-02T14:30:00-06:00', to: '2026-03-03T00:00:00-06:00' }
    const found = await ask(['PRODUCT'], { defects: ['rust'], window })
    // A quarter of C-1, and C-2.
    expect(found.heard.counted).toBeCloseTo(1.25, 9)
    expect(found.heard.elsewhere).toBeCloseTo(0.75, 9)
    expect(found.overall.castings).toBeCloseTo(4 * KNOWN + 8, 3)
  })

  it('go by what was told while nobody examined it, and never before anything left', async () => {
    const warp = await ask(['PRODUCT'], { defects: ['warp'] })
    expect(groups(warp)['skillet 10'].defective).toBeCloseTo(KNOWN, 3)
    const chip = await ask(['PRODUCT'], { defects: ['chip'] })
    expect(chip.heard).toMatchObject({ notPlaced: 1, counted: 0, halfWithinDays: null })
    expect(chip.cautions[1].sentence).toContain('No complaint is placed yet')
  })

  it('say when nothing was shipped, and come out again by their number', async () => {
    const window = { from: '2026-04-02T00:00:00Z', to: '2026-04-03T00:00:00Z' }
    expect((await ask(['PRODUCT'], { window })).sentence).toBe(
      'No castings were shipped in this window: ask for a longer one.',
    )
    const found = await ask(['PRODUCT'])
    const { answer } = await asking.ask(
      'query ($id: ID!) { answer(id: $id) { ... on Rates { sentence } } }',
      { id: found.id },
    )
    expect(answer.sentence).toBe(found.sentence)
  })
})
