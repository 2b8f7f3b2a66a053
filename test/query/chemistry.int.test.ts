import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { refreshAnalytics } from '../../services/query/analytics/command.ts'
import { Asking } from './asking.ts'
import type { Saying } from './record.ts'
import { DAY } from './small-plant.ts'

const at = (minute: number, day = '02') =>
  `2026-03-${day}T${String(6 + Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}:00-06:00`

// Pig iron with 0.05 % copper and scrap with 0.60 %, both certified. Twelve heats of 700 kg of pig iron on
// a heel of 300 kg; in the last, scrap went in for 100 kg of it and was written down as pig iron.
const LOTS: Saying[] = [
  ['PIG', 0.05],
  ['SCRAP', 0.6],
].map(([lot, Cu]) => ({
  type: 'receive.lot-received.v1',
  time: at(0),
  data: {
    lot,
    material: lot === 'PIG' ? 'pig iron' : 'copper scrap',
    role: 'metallic',
    kg: 20_000,
    supplier: 'Ridge Iron',
    certificate: { C: 3.9, Si: 1.5, P: 0.05, Cu },
  },
}))

function heat(n: number, lines: object[], Cu: number): Saying[] {
  return [
    {
      type: 'melt.charge-weighed.v1',
      time: at(30 * n + 1, '03'),
      data: { charge: `CC-${n}`, recipe: { id: 'R10', revision: '14' }, lines },
    },
    {
      type: 'melt.heat-melted.v1',
      time: at(30 * n + 20, '03'),
      machine: 'F7',
      data: {
        heat: `HH-${n}`,
        furnace: 'F7',
        charges: [{ charge: `CC-${n}` }],
        ...(n === 0 ? { fromEmpty: true } : { heelKg: { value: 300, spread: 3 } }),
        startedAt: at(30 * n + 2, '03'),
        endedAt: at(30 * n + 20, '03'),
      },
    },
    {
      type: 'melt.heat-sampled.v1',
      time: at(30 * n + 21, '03'),
      data: { heat: `HH-${n}`, sample: `SS-${n}`, chemistry: { Cu, P: 0.05 }, method: 'spark' },
    },
    {
      type: 'melt.heat-tapped.v1',
      time: at(30 * n + 25, '03'),
      data: { heat: `HH-${n}`, furnace: 'F7', ladle: `LL-${n}`, kg: n === 0 ? 700 : 700 },
    },
  ]
}

const pig = (kg: number) => ({ of: 'lot:PIG', kg })
const scrap = (kg: number) => ({ of: 'lot:SCRAP', kg })
const HEATS: Saying[] = [
  ...heat(0, [pig(900), scrap(100)], 0.105),
  ...heat(1, [pig(700)], 0.0665),
  ...heat(2, [pig(700)], 0.055),
  ...heat(3, [pig(600), scrap(100)], 0.106),
  ...heat(4, [pig(700)], 0.067),
  ...heat(5, [pig(700)], 0.055),
  ...heat(6, [pig(700)], 0.052),
  ...heat(7, [pig(700)], 0.0505),
  ...heat(8, [pig(700)], 0.05),
  ...heat(9, [pig(700)], 0.05),
  ...heat(10, [pig(700)], 0.05),
  ...heat(11, [pig(600), { of: 'lot:PIG-2', kg: 100 }], 0.105),
  ...heat(12, [pig(700)], 0.0665),
]
const PIG_2: Saying = { ...LOTS[0]!, id: 'pig-2', data: { ...LOTS[0]!.data, lot: 'PIG-2' } }

// Ten castings of HH-11 with four bad ones, and twenty of HH-12 with one.
const MADE: Saying[] = [
  {
    type: 'mold.pattern-mounted.v1',
    time: at(0, '03'),
    data: {
      ...{ line: '7', pattern: 'PT-7', pouredKg: 3 },
      cavities: [{ cavity: 'A', product: 'skillet 7', castingKg: 2 }],
    },
  },
  {
    type: 'mold.molds-made.v1',
    time: at(300, '03'),
    data: {
      ...{ molds: 'MM-7', line: '7', pattern: 'PT-7', first: 1, last: 30 },
      ...{ startedAt: at(290, '03'), endedAt: at(300, '03') },
    },
  },
  ...[
    { n: 11, first: 1, last: 10, defective: 4 },
    { n: 12, first: 11, last: 30, defective: 1 },
  ].flatMap(({ n, first, last, defective }): Saying[] => [
    {
      type: 'pour.molds-poured.v1',
      time: at(30 * n + 29, '03'),
      data: {
        ...{ pour: `PP-${n}`, ladle: `LL-${n}`, line: '7', first, last },
        ...{ startedAt: at(30 * n + 26, '03'), endedAt: at(30 * n + 29, '03') },
      },
    },
    {
      type: 'inspect.castings-inspected.v1',
      time: at(30 * n + 60, '03'),
      data: {
        ...{ inspection: `II-${n}`, of: [`pour:PP-${n}`], stage: 'as cast' },
        ...{ castings: last - first + 1, defective },
        defects: [{ defect: 'blow', castings: defective }],
      },
    },
  ]),
]

const LIMITS: Saying[] = [
  { quantity: 'pouring temperature', low: 1380, high: 1405, of: {} },
  { quantity: 'pouring temperature', low: 1390, high: 1450, of: { product: 'skillet 10' } },
  { quantity: 'Cu', high: 0.1, of: { machine: 'F7' } },
  { quantity: 'Pb', high: 0.0005, of: {} },
].map((limits, i) => ({
  type: 'quality.limits-set.v1',
  time: at(i),
  id: `limits-${i}`,
  data: {
    ...limits,
    unit: limits.quantity === 'pouring temperature' ? 'CEL' : 'P1',
    from: '2026-03-01T00:00:00-06:00',
  },
}))

describe('Chemistry against what was charged and what is allowed', () => {
  let asking: Asking
  beforeAll(async () => {
    asking = await Asking.start()
    await asking.record.say(...DAY, ...LOTS, PIG_2, ...HEATS, ...MADE, ...LIMITS)
  })
  afterAll(() => asking?.[Symbol.asyncDispose]())

  it('draws samples less what was to be expected, which leaves out that heats follow one another', async () => {
    const of = `{quantity: "Cu", window: {from: "2026-03-03T00:00:00-06:00", to: "2026-03-04T00:00:00-06:00"}, machine: "F7"`
    const read =
      '... on Chart { sentence thing value upperLimit signals { point code } } ... on TooLittle { sentence }'
    const { chart } = await asking.ask(`{ chart(of: ${of}, lessPredicted: true}) { ${read} } }`)
    const at = chart.thing.indexOf('heat:HH-11')
    // 100 of 1,000 kg hold 0.55 % more than was written down.
    expect(chart.value[at]).toBeGreaterThan(0.05)
    expect(chart.value[at]).toBeLessThan(0.06)
    expect(chart.signals.map(({ point }: { point: number }) => point)).toContain(at)
    for (const [i, value] of chart.value.entries())
      if (i < at) expect(Math.abs(value)).toBeLessThan(0.005)
    expect(chart.sentence).toContain('points of Cu less what was to be expected, in percent')
    // As read, heat 3, which was charged as written, is as far off as heat 11.
    const plain = await asking.ask(`{ chart(of: ${of}}) { ${read} } }`)
    expect(plain.chart.value[3]).toBeCloseTo(plain.chart.value[11], 2)
    expect(
      await asking.codeOf(
        `{ capability(of: ${of}, lessPredicted: true}, lowest: 0) { __typename } }`,
      ),
    ).toBe('BAD_USER_INPUT')
  })

  it('leaves castings of a heat that does not fit out of rates, when asked to', async () => {
    const ask = (more: string) =>
      asking.ask(`{ defectRates(about: {stage: "as cast",
        window: {from: "2026-03-03T00:00:00-06:00", to: "2026-03-04T00:00:00-06:00"}}, by: FURNACE${more}) {
        ... on Rates { sentence sql misfitHeats withoutCastings overall { castings defective } } } }`)
    const whole = (await ask('')).defectRates
    expect(whole).toMatchObject({ misfitHeats: 1, withoutCastings: 0 })
    expect(whole.overall).toEqual({ castings: 30, defective: 5 })
    const rest = (await ask(', withoutMisfits: true')).defectRates
    // Of HH-11 are 10 castings with 4 bad ones.
    expect(rest).toMatchObject({ misfitHeats: 1, withoutCastings: 10 })
    expect(rest.overall).toEqual({ castings: 20, defective: 1 })
    expect(rest.sentence).toContain('10 of heats that do not fit their charge are left out.')
    // And in the tables of analysts, to the last digit.
    const { pool } = asking.record.store
    await refreshAnalytics(asking.record.store)
    const told = await pool.query({ text: rest.sql, rowMode: 'array' })
    expect(told.rows).toEqual([['F7', 20, 1, 0.05]])
    expect((await pool.query('select heat from analytics.heat where does_not_fit')).rows).toEqual([
      { heat: 'heat:HH-11' },
    ])
  })

  it('tells the one heat apart in which scrap went in for pig iron', async () => {
    const { misfits } =
      await asking.ask(`{ misfits(first: 5) { totalCount edges { node { id } misfit {
      toldApart chanceAlone symbol differencePercent { value } sentence
      causes { sort chance of { id } other { id } times } } } } }`)
    expect(misfits.totalCount).toBe(1)
    const [{ node, misfit }] = misfits.edges
    expect(node.id).toBe('heat:HH-11')
    expect(misfit).toMatchObject({ toldApart: true, symbol: 'Cu' })
    expect(misfit.chanceAlone).toBeLessThan(1e-4)
    expect(misfit.differencePercent.value).toBeCloseTo(0.055, 2)
    expect(misfit.causes.map(({ other }: { other: { id: string } | null }) => other?.id)).toContain(
      'lot:SCRAP',
    )
    expect(misfit.sentence).toMatch(/0\.1\d* % Cu where 0\.05\d* % was to be expected/)
  })

  it('says what each heat should read, and that the others fit', async () => {
    const { heat } = await asking.ask(`{ heat: thing(by: {id: "heat:HH-6"}) { ... on Heat {
      predicted { elements { symbol percent { value interval { low high } } } figures { name } }
      misfit { toldApart causes { sort } sentence } } } }`)
    const copper = heat.predicted.elements.find(
      ({ symbol }: { symbol: string }) => symbol === 'Cu',
    ).percent
    expect(copper.value).toBeCloseTo(0.0515, 2)
    expect(copper.interval.low).toBeLessThan(0.052)
    expect(copper.interval.high).toBeGreaterThan(0.052)
    expect(heat.misfit).toMatchObject({ toldApart: false, causes: [] })
    const { none } = await asking.ask(
      `{ none: thing(by: {id: "heat:H-2"}) { ... on Heat { predicted { figures { name } } misfit { symbol } } } }`,
    )
    expect(none).toEqual({ predicted: null, misfit: null })
  })

  it('holds a reading to the limits that name the most of what it was measured on', async () => {
    const { pour } = await asking.ask(`{ pour: thing(by: {id: "pour:P-1"}) { ... on Pour {
      measures { quantity value { value } lowestAllowed highestAllowed outside }
      superheat { kelvin { value } freezingCelsius { value } by inDomain sampled { id } } } } }`)
    expect(pour.measures).toEqual([
      {
        quantity: 'pouring temperature',
        value: { value: 1410 },
        lowestAllowed: 1390,
        highestAllowed: 1450,
        outside: false,
      },
    ])
    // Heat H-1 reads C 3.5, Si 2.2, P 0.05 and a liquidus of 1180 °C; the stable eutectic is 1167.74 °C.
    expect(pour.superheat).toMatchObject({
      kelvin: { value: 230 },
      freezingCelsius: { value: 1180 },
      sampled: { id: 'heat:H-1' },
    })
  })

  it('lists what lies outside, newest first', async () => {
    const { outOfLimits } = await asking.ask(`{ outOfLimits(first: 10) { totalCount edges {
      node { id } measure { quantity value { value } highestAllowed outside report { id } } } } }`)
    expect(outOfLimits.edges.map(({ node }: { node: { id: string } }) => node.id)).toEqual([
      'heat:HH-11',
      'heat:HH-3',
      'heat:HH-0',
    ])
    expect(outOfLimits.edges[0].measure).toMatchObject({
      quantity: 'Cu',
      value: { value: 0.105 },
      highestAllowed: 0.1,
      outside: true,
    })
    const page = await asking.ask(
      `{ outOfLimits(first: 1, quantity: "Cu") { pageInfo { hasNextPage endCursor } } }`,
    )
    const next = await asking.ask(
      `query ($after: String) { outOfLimits(first: 1, quantity: "Cu", after: $after) { edges { node { id } } } }`,
      { after: page.outOfLimits.pageInfo.endCursor },
    )
    expect(next.outOfLimits.edges[0].node.id).toBe('heat:HH-3')
  })

  it('shows figures by their form, and what is outside a method', async () => {
    const { heat } =
      await asking.ask(`{ heat: thing(by: {id: "heat:H-1"}) { ... on Heat { samples { chemistry {
      carbonEquivalentPercent { value } figures { name value { value } inDomain source }
      elements { symbol outsideMethod } } } } } }`)
    const { chemistry } = heat.samples[0]
    expect(chemistry.carbonEquivalentPercent.value).toBeCloseTo(4.25, 9)
    const figure = (name: string) =>
      chemistry.figures.find((one: { name: string }) => one.name === name)
    expect(figure('CE Patterson–Schenck–Neumann').value.value).toBeCloseTo(4.2137, 4)
    expect(figure('austenite liquidus by composition')).toMatchObject({ inDomain: false })
    expect(
      chemistry.elements
        .filter(({ outsideMethod }: { outsideMethod: boolean }) => outsideMethod)
        .map(({ symbol }: { symbol: string }) => symbol),
    ).toEqual([])
  })
})
