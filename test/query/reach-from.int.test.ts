// Where a reach may start, beside things: marks that several packs bear, values outside their limits, factors.
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { PLANT } from '../../services/plant/names.ts'
import { WorkedHouse } from '../house.ts'
import { Asking } from './asking.ts'
import { DAY } from './small-plant.ts'

interface Bake {
  step: string
  load: string
  endedAt: string
  machine: { name: string }
}

interface Edge {
  node: { id: string; handlings: Omit<Bake, 'load'>[] }
}

const WINDOW = { from: '2026-03-02T00:00:00-06:00', to: '2026-03-03T00:00:00-06:00' }
const REACH = `query ($from: ReachFrom!, $affected: AffectedBy!) { reach(from: $from, affected: $affected) {
  __typename ... on NotKnown { sentence } ... on Unclear { candidates { fit } }
  ... on Reach { id question sentence castings { certain possible unknown clear toHold }
    packs(first: 50) { edges { node { id } standing } } from { id } } } }`

describe('A reach from a machine whose report did not come', () => {
  const BLASTED = 'clean.load-blasted.v1'
  const byBlaster = async (reports: typeof DAY) => {
    await using plant = await Asking.start()
    await plant.record.say(...reports, ELSEWHERE)
    const from = { machine: { machine: 'BL-1', window: WINDOW } }
    const { reach } = await plant.ask(REACH, { from, affected: { touched: true } })
    return reach.castings
  }
  const blast = DAY.find(({ type }) => type === BLASTED)!
  /** So that the machine is known by its step. */
  const ELSEWHERE: (typeof DAY)[number] = {
    ...blast,
    time: '2026-03-02T12:30:00-06:00',
    data: {
      ...{ load: 'LD-7', castings: 3 },
      ...{ startedAt: '2026-03-02T12:10:00-06:00', endedAt: '2026-03-02T12:30:00-06:00' },
    },
  }

  it('clears nothing of a load that went on to a later step without one', async () => {
    const told = await byBlaster(DAY)
    const missing = await byBlaster(DAY.filter(({ type }) => type !== BLASTED))
    expect(told.certain).toBeGreaterThan(0)
    expect(missing.certain).toBeLessThan(told.certain)
    expect(missing.unknown).toBeGreaterThanOrEqual(told.certain - missing.certain)
  })

  it('clears nothing of a load that changed its name where the report is missing', async () => {
    const told = await byBlaster(DAY)
    const renamed = await byBlaster(
      DAY.filter(({ type }) => type !== BLASTED).map((report) => {
        if (report.time < blast.time) return report
        const said = JSON.stringify(report).replaceAll('LD-1', 'LD-2')
        const { data, ...rest } = JSON.parse(said) as typeof report
        const sources = [{ of: 'load:LD-1', castings: 58 }]
        return { ...rest, data: { ...data, ...(report.type.includes('oiled') && { sources }) } }
      }),
    )
    expect(renamed.unknown).toBeGreaterThanOrEqual(told.certain - renamed.certain)
  })

  it('clears nothing that was packed without a report of the step', async () => {
    const bake = DAY.find(({ type }) => type === 'season.load-baked.v1')!
    const elsewhere = { ...bake, data: { ...bake.data, load: 'LD-7', castings: 3 } }
    await using plant = await Asking.start()
    await plant.record.say(...DAY.filter((report) => report !== bake), elsewhere)
    const from = { machine: { machine: 'OVEN-2', window: WINDOW } }
    const { reach } = await plant.ask(REACH, { from, affected: { touched: true } })
    expect(reach.castings.unknown).toBeGreaterThanOrEqual(38)
  })

  it('says that a machine is not known that no report names', async () => {
    await using plant = await Asking.start()
    await plant.record.say(...DAY)
    const from = { machine: { machine: 'BL-9', window: WINDOW } }
    const { reach } = await plant.ask(REACH, { from, affected: { touched: true } })
    expect(reach).toMatchObject({ __typename: 'NotKnown' })
    expect(reach.sentence).toContain('BL-9')
  })

  it('clears nothing of a load whose report names no machine', async () => {
    const told = await byBlaster(DAY)
    const unnamed = await byBlaster(
      DAY.map((report) => {
        const { machine: _, ...rest } = report as { machine?: string; type: string }
        return report.type === BLASTED ? (rest as typeof report) : report
      }),
    )
    expect(unnamed.unknown).toBeGreaterThanOrEqual(told.certain - unnamed.certain)
  })
})

describe('A reach from what the small plant said', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(...DAY, {
      type: 'inspect.reading-taken.v1',
      time: '2026-03-02T11:00:00-06:00',
      data: {
        of: 'load:LD-1',
        takenAt: '2026-03-02T11:00:00-06:00',
        readings: [{ quantity: 'zone temperature', value: 199, unit: 'CEL' }],
      },
    })
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  const reach = async (from: object, affected: object = { touched: true }) =>
    (await asking.ask(REACH, { from, affected })).reach
  const measure = (quantity: string, more: object) => ({
    measure: { of: { quantity, window: WINDOW }, ...more },
  })

  it('starts at all packs that bear a mark, and asks back where a sign cannot be read', async () => {
    const same = await reach({ marks: ['SAME'] })
    expect(same.from.map(({ id }: { id: string }) => id).sort()).toEqual(['pack:K-2', 'pack:K-3'])
    const each = await reach({ things: ['pack:K-2', 'pack:K-3'] })
    expect(same.castings).toEqual(each.castings)
    expect((await reach({ marks: ['S?ME', 'K26-0412-B?'] })).__typename).toBe('Unclear')
  })

  it('starts at castings of pours that were too cold, and ends where they are melted again', async () => {
    const cold = await reach(measure('pouring temperature', { lowest: 1420 }))
    expect(cold.from).toEqual([{ id: 'pour:P-1' }])
    expect(cold.question).toContain('pouring temperature outside its limits')
    const pour = await reach({ things: ['pour:P-1'] })
    expect(cold.castings).toEqual(pour.castings)
    expect((await reach(measure('pouring temperature', { lowest: 1400 }))).sentence).toContain(
      'lay outside its limits',
    )
    expect((await reach(measure('pouring temperature', {}))).__typename).toBe('NotKnown')
    const again = await asking.ask('query ($id: ID!) { answer(id: $id) { id sentence } }', {
      id: cold.id,
    })
    expect(again.answer).toEqual({ id: cold.id, sentence: cold.sentence })
  })

  it('starts at what was in a load when the value was taken', async () => {
    const { castings } = await reach(measure('zone temperature', { lowest: 210 }))
    expect(castings.toHold).toBeGreaterThan(0)
    expect((await reach(measure('zone temperature', { lowest: 190 }))).__typename).toBe('NotKnown')
    const elsewhere = { quantity: 'zone temperature', window: WINDOW, machine: 'OVEN-9' }
    expect((await reach({ measure: { of: elsewhere, lowest: 210 } })).__typename).toBe('NotKnown')
    const here = { ...elsewhere, machine: 'OVEN-2' }
    expect((await reach({ measure: { of: here, lowest: 210 } })).castings).toEqual(castings)
  })

  it('starts at the bath whose sample lay outside, by mass', async () => {
    const from = measure('Si', { highest: 2.1 })
    const half = await reach(from, { share: 0.5 })
    expect(half.from).toEqual([{ id: 'heat:H-1' }])
    expect(half.castings).toEqual((await reach({ things: ['heat:H-1'] }, { share: 0.5 })).castings)
    // A value below what the method can tell may lie outside a limit beneath it: never clear.
    const lead = { quantity: 'Pb', window: WINDOW }
    const open = await reach({ measure: { of: lead, highest: 0.0001 } }, { share: 0.01 })
    expect(open.from).toEqual([{ id: 'lot:PI-77' }])
  })

  it('is refused for a factor of a question that explains nothing', async () => {
    const about = { stage: 'after bake', window: WINDOW }
    const none = await reach({ factor: { about, name: 'oven OVEN-2' } })
    expect(none.sentence).toContain('no factor of this name')
  })
})

describe('A reach over two days of a foundry', () => {
  let worked: WorkedHouse
  beforeAll(async () => {
    worked = await WorkedHouse.open({ seed: 1, days: 2 })
  })
  afterAll(() => worked?.[Symbol.asyncDispose]())

  const window = { from: '2026-04-11T00:00:00-06:00', to: '2026-04-14T00:00:00-06:00' }
  const about = { stage: 'after-blast', defects: ['pinhole'], window }

  const factorsOf = async (about: object) => {
    const { causes } = await worked.ask(
      `query ($about: DefectQuestion!) { causes(about: $about) { ... on Causes {
        groups(first: 20) { factors { sort name thing { id } } } } } }`,
      { about },
    )
    return causes.groups.flatMap(({ factors }: { factors: object[] }) => factors)
  }
  const reach = async (from: object, affected: object) =>
    (await worked.ask(REACH, { from, affected })).reach

  it('counts by doses of an addition, and says what is usual', async () => {
    const { edges } = (await worked.ask('{ lots(first: 100) { edges { node { id role } } } }')).lots
    // Of the newest first: the last is one that was used.
    const lotOf = (role: string) =>
      edges.findLast(({ node }: { node: { role: string } }) => node.role === role).node.id
    const things = [lotOf('INOCULANT')]
    const byDose = async (dose: number) => {
      const { reach } = await worked.ask(
        `query ($from: ReachFrom!, $dose: Float!) { reach(from: $from, affected: {dose: $dose}) {
          ... on Reach { id question leastShare usualDose { share pours }
            castings { certain toHold } } } }`,
        { from: { things }, dose },
      )
      return reach
    }
    const touched = await reach({ things }, { touched: true })
    const half = await byDose(0.5)
    const { usualDose, leastShare, question, castings } = half
    // About 1.2 kg go into each ladle, and some into the stream.
    expect(usualDose.share).toBeGreaterThan(0.001)
    expect(usualDose.share).toBeLessThan(0.005)
    expect(usualDose.pours).toBeGreaterThan(100)
    expect(leastShare).toBeCloseTo(usualDose.share / 2, 12)
    expect(question).toContain('Castings count from 0.5 of the usual dose on, which is 1 in ')
    expect(castings.certain).toBeGreaterThan(1000)
    expect(castings.toHold).toBeLessThan(touched.castings.toHold)
    expect((await byDose(4)).castings.certain).toBe(0)
    const again = await worked.ask(
      'query ($id: ID!) { answer(id: $id) { ... on Reach { question } } }',
      { id: half.id },
    )
    expect(again.answer.question).toBe(question)
    for (const [others, says] of [
      [[lotOf('METALLIC')], 'is for received lots of one addition'],
      [[...things, lotOf('COAGULANT')], 'is for received lots of one addition'],
    ] as const) {
      const { errors } = await worked.post(REACH, {
        from: { things: others },
        affected: { dose: 1 },
      })
      expect(errors?.[0]?.message).toContain(says)
    }
  })

  it('is that of its lot', async () => {
    const [lot] = await factorsOf(about)
    const affected = { share: 0.01 }
    const found = await reach({ factor: { about, name: lot.name } }, affected)
    expect(found.question).toContain(`what had ${lot.name}`)
    expect(found.castings).toEqual((await reach({ things: [lot.thing.id] }, affected)).castings)
  })

  it('is all that went through its machine, looked at or not', async () => {
    const loads = `{ loads(first: 200, step: BAKE) { edges { node { id
      handlings { step startedAt endedAt machine { name } } } } } }`
    const { edges } = (await worked.ask(loads)).loads
    // Every other load is looked at after the bake, and one oven makes blisters.
    const bakes = edges.flatMap(({ node }: Edge, i: number) =>
      node.handlings
        .filter(({ step }) => i % 2 === 0 && step === 'BAKE')
        .map((bake) => ({ load: node.id, ...bake })),
    )
    const ovens = [...new Set(bakes.map((bake: Bake) => bake.machine.name))]
    expect(ovens.length).toBeGreaterThan(1)
    const [oven] = ovens
    await worked.say(
      bakes.map(({ load, endedAt, machine }: Bake, i: number) => ({
        ...{ specversion: '1.0', id: `trial-${i}`, time: endedAt },
        ...{ source: `${PLANT}/inspect/desk`, type: 'inspect.castings-inspected.v1' },
        data: {
          ...{ inspection: `T-${i}`, of: [load], stage: 'trial', castings: 50 },
          defects: [{ defect: 'blister', castings: machine.name === oven ? 20 : 1 }],
        },
      })),
    )
    const trial = { stage: 'trial', window }
    const factors = await factorsOf(trial)
    const machine = factors.find(({ name }: { name: string }) => name === `bake machine ${oven}`)
    expect(machine?.sort).toBe('LEVEL')
    const all = { from: '2026-01-01T00:00:00Z', to: '2027-01-01T00:00:00Z' }
    const through = await reach({ machine: { machine: oven, window: all } }, { touched: true })
    const had = await reach({ factor: { about: trial, name: machine.name } }, { touched: true })
    expect(had.castings).toEqual(through.castings)
    expect(had.castings.certain).toBeGreaterThan(1000)
  })
})
