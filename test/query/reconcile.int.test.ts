import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Asking } from './asking.ts'
import { DAY } from './small-plant.ts'

const ASK = `
  query ($of: BalanceOf!, $beyond: Boolean = false) {
    reconcile(of: $of) {
      __typename
      ... on Balance {
        id sentence
        steps { stage step unit things in out left unaccounted tolerance within open beyond }
        rows(first: 200, beyond: $beyond) {
          totalCount
          edges { node { id } stage step unit in out left unaccounted tolerance within open }
        }
      }
      ... on NotKnown { sentence }
    }
  }`

// biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
type Row = any

const DAY_LONG = {
  window: { from: '2026-03-02T05:00:00-06:00', to: '2026-03-02T23:00:00-06:00' },
}

describe('In against out', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(...DAY)
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  const ask = async (of: object, more: object = {}) =>
    (await asking.ask(ASK, { of, ...more })).reconcile
  const rowOf = (answer: { rows: { edges: Row[] } }, id: string): Row =>
    answer.rows.edges.find(({ node }) => node.id === id)

  it('of a heat: charged and alloyed, tapped, and what the next heat found in the furnace', async () => {
    const answer = await ask({ thing: { id: 'heat:H-1' } })
    // 400 + 200 + 1 kg in, 250 tapped, 349 measured as heel of the next.
    expect(rowOf(answer, 'heat:H-1')).toMatchObject({
      stage: 'HEAT',
      unit: 'KGM',
      in: 601,
      out: 250,
      left: 349,
      unaccounted: 2,
      within: true,
    })
    expect(rowOf(answer, 'charge:C-1')).toMatchObject({ in: 600, out: 600, unaccounted: 0 })
    // No heel, 250 kg and half a kg of inoculant in; the coagulant goes off with the slag; 140 poured.
    expect(rowOf(answer, 'ladle:L-1')).toMatchObject({ in: 250.5, out: 140, left: 110.5 })
    // 20 molds with two open cavities.
    expect(rowOf(answer, 'pour:P-1')).toMatchObject({ unit: 'H87', in: 40, out: 40, left: 0 })
    expect(answer.sentence).toMatch(/add up within what weighing leaves open/)
  })

  it('of a load: castings in, out and taken out on the way; a step nobody counted into is open', async () => {
    const answer = await ask({ thing: { id: 'load:LD-1' } })
    const [shaken, blasted] = answer.rows.edges
    expect(shaken).toMatchObject({ step: 'SHAKE_OUT', in: 60, out: 60, open: false, within: true })
    expect(blasted).toMatchObject({ step: 'BLAST', out: 58, unaccounted: 0, open: true })
  })

  it('of packs: put in, shipped and packed anew, still there', async () => {
    expect(rowOf(await ask({ thing: { mark: 'K26-0412-B7' } }), 'pack:K-1')).toMatchObject({
      in: 20,
      out: 12,
      left: 8,
      unaccounted: 0,
    })
    expect(rowOf(await ask({ thing: { id: 'pack:K-2' } }), 'pack:K-2')).toMatchObject({
      in: 18,
      out: 6,
      left: 12,
    })
  })

  it('of a day: every sum is that of its rows, and in is out, left and unaccounted', async () => {
    const answer = await ask(DAY_LONG)
    expect(answer.steps.map(({ stage, step }: Row) => step ?? stage)).toEqual([
      'LOT',
      'CHARGE',
      'HEAT',
      'LADLE',
      'POUR',
      'SHAKE_OUT',
      'BLAST',
      'OIL',
      'BAKE',
      'PACK',
    ])
    for (const one of [...answer.steps, ...answer.rows.edges])
      expect(one.in - one.out - one.left - one.unaccounted).toBeCloseTo(0, 6)
    for (const step of answer.steps) {
      const own = answer.rows.edges.filter(
        (row: Row) => row.stage === step.stage && row.step === step.step,
      )
      expect(own).toHaveLength(step.things)
      for (const part of ['in', 'out', 'left', 'unaccounted'])
        expect(own.reduce((sum: number, row: Row) => sum + row[part], 0)).toBeCloseTo(step[part], 6)
    }
    const { answer: again } = await asking.ask(
      `query ($id: ID!) { answer(id: $id) { sentence } }`,
      { id: answer.id },
    )
    expect(again.sentence).toBe(answer.sentence)
  })

  it('names what a count does not find, and what more was used of than came in', async () => {
    expect((await ask(DAY_LONG, { beyond: true })).rows.totalCount).toBe(0)
    await asking.record.say(
      {
        type: 'ship.stock-counted.v1',
        time: '2026-03-02T16:00:00-06:00',
        id: 'count-1',
        data: { of: 'lot:PI-77', kg: 14_000 },
      },
      {
        type: 'ship.stock-counted.v1',
        time: '2026-03-02T16:05:00-06:00',
        id: 'count-2',
        data: { of: 'pack:K-3', castings: 3 },
      },
      {
        type: 'melt.charge-weighed.v1',
        time: '2026-03-02T09:00:00-06:00',
        data: { charge: 'C-9', lines: [{ of: 'lot:IN-9', kg: 650 }] },
      },
    )
    const answer = await ask(DAY_LONG, { beyond: true })
    // 20,000 kg came, 5,400 were used, 14,000 counted: 600 kg, where weighing leaves under 400 open.
    const lot = rowOf(answer, 'lot:PI-77')
    expect(lot.unaccounted).toBeCloseTo(600, 0)
    expect(lot.tolerance).toBeLessThan(400)
    expect(rowOf(answer, 'pack:K-3')).toMatchObject({
      in: 4,
      left: 3,
      unaccounted: 1,
      within: false,
    })
    // 500 kg came, 650 + 1.5 went out.
    expect(rowOf(answer, 'lot:IN-9')).toMatchObject({ unaccounted: -151.5, left: 0, within: false })
    expect(answer.sentence).toMatch(
      /single rows are off by more than weighing and counting leave open/,
    )
  })

  it.each([
    { window: { from: '2026-03-02T05:00:00-06:00', to: '2026-03-02T05:00:00-06:00' } },
    { window: { from: '2026-03-02T05:00:00-06:00', to: '2028-03-02T05:00:00-06:00' } },
    { thing: { id: 'sand:SD-1' } },
  ])('refuses %j', async (of) => {
    expect(await asking.codeOf(ASK, { of })).toBe('BAD_USER_INPUT')
  })

  it('says what is not known', async () => {
    expect((await ask({ thing: { id: 'heat:NO-SUCH' } })).__typename).toBe('NotKnown')
  })
})
