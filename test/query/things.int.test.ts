import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Asking } from './asking.ts'
import { sourceOf } from './record.ts'
import { DAY } from './small-plant.ts'

let asking: Asking

beforeAll(async () => {
  asking = await Asking.start()
  await asking.record.say(...DAY)
})
afterAll(() => asking?.[Symbol.asyncDispose]())

const node = async (id: string, fields: string) =>
  (await asking.ask(`query ($id: ID!) { node(id: $id) { ${fields} } }`, { id })).node

describe('A thing', () => {
  it('that was bought shows what came with it, in SI units', async () => {
    const lot = await node(
      'lot:PI-77',
      `... on Lot { kind number reported at material role kg { value basis } supplier { name } supplierLots
        certificate { saturation { value } elements { symbol lessThan percent { value } } } }`,
    )
    expect(lot).toMatchObject({
      kind: 'LOT',
      number: 'PI-77',
      reported: true,
      at: '2026-03-02T06:00:00-06:00',
      material: 'pig iron',
      role: 'METALLIC',
      supplier: { name: 'Ridge Iron' },
      supplierLots: ['R-1', 'R-2'],
    })
    // 44,092.45 lb of 0.45359237 kg.
    expect(lot.kg.value).toBeCloseTo(19999.9989, 4)
    expect(lot.certificate.elements).toContainEqual({
      symbol: 'Pb',
      lessThan: true,
      percent: { value: 0.001 },
    })
    expect(lot.certificate.saturation.value).toBeCloseTo(4.1 / (4.26 - 0.31 * 1.2 - 0.27 * 0.05), 9)
  })

  it('that was used shows what it went into and what it touched, newest first', async () => {
    const lot = await node(
      'lot:IN-9',
      '... on Lot { usedIn { totalCount edges { at kg { value } node { id } } } }',
    )
    expect(lot.usedIn).toEqual({
      totalCount: 2,
      edges: [
        { at: '2026-03-02T07:11:00-06:00', kg: { value: 0.5 }, node: { id: 'ladle:L-1' } },
        { at: '2026-03-02T07:01:00-06:00', kg: { value: 1 }, node: { id: 'heat:H-1' } },
      ],
    })
  })

  it('that was weighed shows its lines with the error that was stated', async () => {
    const charge = await node(
      'charge:C-1',
      `... on Charge { recipe { name revision lines { material percent lowPercent highPercent } }
        lines { of { id } kg { value interval { low high level method } } targetKg }
        kg { value interval { low } } preheatCelsius { value } heats { id } }`,
    )
    expect(charge).toEqual({
      recipe: {
        name: 'R10',
        revision: '14',
        lines: [
          { material: 'pig iron', percent: 40, lowPercent: 35, highPercent: 45 },
          { material: 'returns', percent: 60, lowPercent: null, highPercent: null },
        ],
      },
      lines: [
        {
          of: { id: 'lot:PI-77' },
          kg: {
            value: 400,
            // 2 kg of standard deviation, and 1.959964 of them either way.
            interval: {
              low: expect.closeTo(396.08, 2),
              high: expect.closeTo(403.92, 2),
              level: 0.95,
              method: 'the error that was stated with it',
            },
          },
          targetKg: 410,
        },
        { of: { id: 'bin:bay-4' }, kg: { value: 200, interval: null }, targetKg: null },
      ],
      // One of the lines has no error stated, so their sum has none.
      kg: { value: 600, interval: null },
      // 752 °F.
      preheatCelsius: { value: 400 },
      heats: [{ id: 'heat:H-1' }],
    })
  })

  it('that was melted shows heel, samples, the heat before it and where it went', async () => {
    const heat = await node(
      'heat:H-2',
      '... on Heat { furnace { id reported } heelKg { value } fromEmpty before { id } ladles { id } }',
    )
    expect(heat).toEqual({
      furnace: { id: 'furnace:F1', reported: true },
      heelKg: { value: 349 },
      fromEmpty: false,
      before: { id: 'heat:H-1' },
      ladles: [{ id: 'ladle:L-2' }],
    })
    const first = await node(
      'heat:H-1',
      `... on Heat { before { id } celsius { value } additions { of { id } purpose }
        samples { number at of { id } method kept liquidusCelsius { value } report { type }
          chemistry { carbonEquivalentPercent { value } saturation { value } } } }`,
    )
    expect(first.before).toBe(null)
    expect(first.additions).toEqual([{ of: { id: 'lot:IN-9' }, purpose: 'alloying' }])
    const [sample] = first.samples
    expect(sample).toMatchObject({
      number: 'S-1',
      at: '2026-03-02T07:02:00-06:00',
      of: { id: 'furnace:F1' },
      kept: 'drawer 3',
      report: { type: 'melt.heat-sampled.v1' },
    })
    // 3.50 C, 2.20 Si, 0.05 P: worked by hand.
    expect(sample.chemistry.carbonEquivalentPercent.value).toBeCloseTo(4.25, 12)
    expect(sample.chemistry.saturation.value).toBeCloseTo(0.9819, 4)
  })

  it('that was tapped shows its taps, its treatment and its pours', async () => {
    const ladle = await node(
      'ladle:L-1',
      `... on Ladle { ladleNo kg { value } heelKg { value } taps { tap at kg { value } celsius { value } heat { id } }
        additions { of { id reported } kg { value } purpose } pours { id } }`,
    )
    expect(ladle).toEqual({
      ladleNo: '3',
      kg: { value: 250 },
      heelKg: { value: 0 },
      taps: [
        {
          tap: 1,
          at: '2026-03-02T07:10:00-06:00',
          kg: { value: 250 },
          celsius: { value: 1450 },
          heat: { id: 'heat:H-1' },
        },
      ],
      additions: [
        { of: { id: 'lot:IN-9', reported: true }, kg: { value: 0.5 }, purpose: 'inoculation' },
        {
          of: { id: 'lot:COAG-1', reported: false },
          kg: { value: 0.2 },
          purpose: 'slag-coagulation',
        },
      ],
      pours: [{ id: 'pour:P-1' }],
    })
  })

  it('that was poured shows the runs it filled and the castings it made', async () => {
    const pour = await node(
      'pour:P-1',
      `... on Pour { ladle { id } line { name } molds { id pattern cavities { cavity product { name } blocked } sand { id } }
        castings { value } kgPerMold { value } minutes celsius { value } }`,
    )
    expect(pour).toMatchObject({
      ladle: { id: 'ladle:L-1' },
      line: { name: '2' },
      molds: [
        { id: 'molds:M-1', pattern: 'PT-10', sand: { id: 'sand:SD-1' } },
        { id: 'molds:M-2', pattern: 'PT-10', sand: { id: 'sand:SD-1' } },
      ],
      // 20 molds of two open places each.
      castings: { value: 40 },
      kgPerMold: { value: 7 },
      minutes: 10,
      celsius: { value: 1410 },
    })
    expect(pour.molds[0].cavities).toEqual([
      { cavity: 'A', product: { name: 'skillet 10' }, blocked: false },
      { cavity: 'B', product: { name: 'skillet 10' }, blocked: true },
      { cavity: 'C', product: { name: 'lid 10' }, blocked: false },
    ])
  })

  it('that was handled shows every step it went through, by time', async () => {
    const load = await node(
      'load:LD-1',
      `... on Load { at handlings { step machine { name station } castings { value } sources { of { id } castings { value } }
        removed { castings fate defect into { id } } materials { of { id } } measures { quantity unit value { value } } tote { id } } }`,
    )
    expect(load.at).toBe('2026-03-02T08:50:00-06:00')
    expect(load.handlings.map(({ step }: { step: string }) => step)).toEqual([
      'SHAKE_OUT',
      'BLAST',
      'OIL',
      'BAKE',
    ])
    expect(load.handlings[0]).toMatchObject({
      machine: null,
      sources: [
        { of: { id: 'pour:P-1' }, castings: { value: 40 } },
        { of: { id: 'pour:P-2' }, castings: { value: 20 } },
      ],
      removed: [{ castings: 2, fate: 'scrap', defect: 'misrun', into: { id: 'lot:RET-2' } }],
    })
    expect(load.handlings[1]).toMatchObject({
      machine: { name: 'BL-1', station: 'CLEAN' },
      materials: [{ of: { id: 'lot:SHOT-1' } }],
      tote: { id: 'tote:T-1' },
    })
    expect(load.handlings[2].measures).toEqual([
      { quantity: 'spray voltage', unit: 'KVT', value: { value: 70 } },
      { quantity: 'film', unit: 'MGM', value: { value: 600 } },
    ])
  })

  it('that was packed shows what is in it and where it is now', async () => {
    const fields = `... on Pack { marks products { name } castings { value } sources { of { id } castings { value } }
      places { place spot castings { value } } shipments { id customer { name } }
      pans { totalCount edges { node { id pack { id } from { id } } } } }`
    expect(await node('pack:K-1', fields)).toEqual({
      marks: ['K26-0412-B7'],
      products: [{ name: 'skillet 10' }],
      castings: { value: 20 },
      sources: [{ of: { id: 'load:LD-1' }, castings: { value: 20 } }],
      places: [
        { place: 'IN_STOCK', spot: 'bay 7', castings: { value: 8 } },
        { place: 'SHIPPED', spot: 'shipment:SH-1', castings: { value: 12 } },
      ],
      shipments: [{ id: 'shipment:SH-1', customer: { name: 'Harbor Goods' } }],
      pans: {
        totalCount: 2,
        edges: [
          { node: { id: 'pan:SN-1', pack: { id: 'pack:K-1' }, from: { id: 'load:LD-1' } } },
          { node: { id: 'pan:SN-2', pack: { id: 'pack:K-1' }, from: null } },
        ],
      },
    })
    expect(await node('pack:K-4', fields)).toMatchObject({
      marks: ['GIFT-1'],
      castings: { value: 6 },
      sources: [{ of: { id: 'pack:K-2' }, castings: null }],
    })
    expect((await node('pack:K-2', fields)).places).toEqual([
      { place: 'IN_STOCK', spot: null, castings: { value: 12 } },
    ])
  })

  it('that only others have named says so and shows nothing it does not know', async () => {
    const lot = await node(
      'lot:CLAY-1',
      '... on Lot { reported at material kg { value } usedIn { totalCount } }',
    )
    expect(lot).toEqual({
      reported: false,
      at: null,
      material: null,
      kg: null,
      usedIn: { totalCount: 1 },
    })
    const heat = await node(
      'pour:P-0',
      '... on Pour { reported at ladle { id } castings { value } molds { id } }',
    )
    expect(heat).toEqual({ reported: false, at: null, ladle: null, castings: null, molds: [] })
  })

  it('asked for by ids comes in the order asked, null for each that is not there', async () => {
    const ids = ['pack:K-2', 'pack:nobody', 'inspection:I-1', 'heat:H-1', 'not an id', 'person:p1']
    const { nodes } = await asking.ask(
      'query ($ids: [ID!]!) { nodes(ids: $ids) { __typename id } }',
      { ids },
    )
    expect(nodes).toEqual([
      { __typename: 'Pack', id: 'pack:K-2' },
      null,
      { __typename: 'Inspection', id: 'inspection:I-1' },
      { __typename: 'Heat', id: 'heat:H-1' },
      null,
      null,
    ])
  })

  it('that an inspector saw is found with what was wrong', async () => {
    const inspection = await node(
      'inspection:I-1',
      '... on Inspection { of { id } stage castings defective defects { defect castings cavity fate } at }',
    )
    expect(inspection).toEqual({
      of: [{ id: 'load:LD-1' }],
      stage: 'after bake',
      castings: 58,
      defective: 3,
      defects: [{ defect: 'blister', castings: 3, cavity: 'A', fate: 'rework' }],
      at: '2026-03-02T12:00:00-06:00',
    })
  })
})

describe('Things, once the record is put right', () => {
  const before = '2026-03-02T15:00:00-06:00'
  const packed = { type: 'ship.pans-packed.v1', time: '2026-03-02T13:20:00-06:00' }

  beforeAll(async () => {
    await asking.record.say(
      {
        ...packed,
        id: 'pack-3-again',
        supersedes: 'pack-3',
        recorded: '2026-03-03T08:00:00-06:00',
        data: { pack: 'K-3', marks: ['OTHER'], lines: [{ product: 'lid 10', castings: 5 }] },
      },
      {
        type: 'quality.record-voided.v1',
        time: '2026-03-03T09:00:00-06:00',
        data: {
          event: { source: sourceOf('ship'), id: 'pack-2', type: packed.type, subject: 'pack:K-2' },
          reason: 'never packed',
          by: 'q1',
        },
      },
      {
        type: 'quality.record-corrected.v1',
        time: '2026-03-03T09:30:00-06:00',
        data: {
          event: {
            source: sourceOf('ship'),
            id: 'pack-1',
            type: packed.type,
            subject: 'pack:K-1',
            time: '2026-03-02T13:00:00-06:00',
          },
          data: {
            pack: 'K-1',
            marks: ['K26-0412-B7'],
            lines: [{ product: 'skillet 10', castings: 19 }],
          },
          reason: 'counted again',
          by: 'q1',
        },
      },
    )
  })

  const pack = async (id: string, asOf?: string) =>
    (
      await asking.ask(
        `query ($id: ID!, $asOf: DateTime) { thing(by: { id: $id }, asOf: $asOf) {
          ... on Pack { reported at marks castings { value } } } }`,
        { id, asOf },
      )
    ).thing

  it('show what was corrected by the station, and as of then what was said then', async () => {
    expect(await pack('pack:K-3')).toMatchObject({ marks: ['OTHER'], castings: { value: 5 } })
    expect(await pack('pack:K-3', before)).toMatchObject({
      marks: ['SAME'],
      castings: { value: 4 },
    })
  })

  it('show what quality corrected, at the time the event had', async () => {
    expect(await pack('pack:K-1')).toEqual({
      reported: true,
      at: '2026-03-02T13:00:00-06:00',
      marks: ['K26-0412-B7'],
      castings: { value: 19 },
    })
    expect(await pack('pack:K-1', before)).toMatchObject({ castings: { value: 20 } })
  })

  it('show nothing of what was taken back, and as of then still all of it', async () => {
    expect(await pack('pack:K-2')).toEqual({ reported: false, at: null, marks: [], castings: null })
    expect(await pack('pack:K-2', before)).toMatchObject({
      reported: true,
      castings: { value: 18 },
    })
    const { packs } = await asking.ask('{ packs { totalCount edges { node { id } } } }')
    expect(packs.totalCount).toBe(3)
    expect(packs.edges.map(({ node: { id } }: { node: { id: string } }) => id)).toEqual([
      'pack:K-4',
      'pack:K-3',
      'pack:K-1',
    ])
  })

  it('are not known as of a moment before anybody named them', async () => {
    expect(await pack('pack:K-1', '2026-03-02T06:30:00-06:00')).toBe(null)
  })
})

describe('An answer', () => {
  const question =
    '{ origins(of: { id: "load:LD-1" }) { ... on Origins { id asOf sentence unrecorded { value } } } }'

  it('comes again by its number as it was given, whatever was said since', async () => {
    const { origins: given } = await asking.ask(question)
    const again = '... on Origins { id asOf sentence unrecorded { value } }'
    const byNumber = async (field: string) =>
      (await asking.ask(`query ($id: ID!) { ${field}(id: $id) { ${again} } }`, { id: given.id }))[
        field
      ]
    expect(await byNumber('answer')).toEqual(given)
    await asking.record.say({
      type: 'melt.charge-weighed.v1',
      time: '2026-03-04T06:00:00-06:00',
      data: { charge: 'C-9', lines: [{ of: 'lot:PI-77', kg: 1 }] },
    })
    expect(await byNumber('answer')).toEqual(given)
    expect(await byNumber('node')).toEqual(given)
    expect((await asking.ask(question)).origins.asOf).not.toBe(given.asOf)
  })

  it('by a number that is none, or was tampered with, is null', async () => {
    const { origins } = await asking.ask(question)
    const numbers = [
      '',
      'origins:',
      'reach:abc',
      'pack:K-1',
      origins.id.replace('origins:', 'reach:'),
      origins.id.slice(0, -4),
    ]
    for (const id of numbers) {
      const { answer } = await asking.ask('query ($id: ID!) { answer(id: $id) { id } }', { id })
      expect([id, answer]).toEqual([id, null])
    }
  })
})
