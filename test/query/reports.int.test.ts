import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { stationsHeard, usualGap } from '../../services/query/record/stations-heard.ts'
import { enteredIn } from '../../services/query/things/reports.ts'
import { Asking, NOW } from './asking.ts'
import { sourceOf } from './record.ts'
import { DAY } from './small-plant.ts'

let asking: Asking
beforeAll(async () => {
  asking = await Asking.start()
  await asking.record.say(...DAY)
  await asking.record.say({
    type: 'ship.pans-packed.v1',
    time: '2026-03-02T13:20:00-06:00',
    id: 'pack-3-again',
    supersedes: 'pack-3',
    recorded: '2026-03-02T13:40:00-06:00',
    data: { pack: 'K-3', marks: ['OTHER'], lines: [{ product: 'lid 10', castings: 5 }] },
  })
  await asking.record.take(
    'melt',
    '{"broken',
    JSON.stringify({
      specversion: '1.0',
      id: 'bad-1',
      source: sourceOf('melt'),
      type: 'melt.heat-tapped.v1',
      time: '2026-03-02T07:10:00-06:00',
      recordedtime: '2026-03-02T13:10:30Z',
      data: { heat: 'H-9', furnace: 'F1', ladle: 'L-9', kg: -4 },
    }),
  )
  await asking.record.take(
    'pour',
    JSON.stringify({ specversion: '1.0', id: 'x', type: 'pour.wine.v1' }),
  )
})
afterAll(() => asking?.[Symbol.asyncDispose]())

const REPORT = `... on Report { station type source number happenedAt recordedAt sentence inForce flags
  entered { field value unit } replaces { number } replacedBy { number inForce } setAsideAs setAsideFor }`

describe('A report', () => {
  it('is a sentence, with what was entered field by field in the units it was entered in', async () => {
    const { node } = await asking.ask(`{ node(id: "report:receive.0.0") { ${REPORT} } }`)
    expect(node).toMatchObject({
      station: 'RECEIVE',
      type: 'receive.lot-received.v1',
      source: sourceOf('receive'),
      happenedAt: '2026-03-02T06:00:00-06:00',
      recordedAt: '2026-03-02T06:01:00-06:00',
      inForce: true,
      replaces: null,
      replacedBy: null,
      setAsideAs: null,
      flags: [],
    })
    expect(node.sentence).toMatch(/^Lot PI-77 came in: .* of pig iron from Ridge Iron\.$/)
    expect(node.entered).toContainEqual({ field: 'kg', value: '44092.45', unit: 'LBR' })
    expect(node.entered).toContainEqual({ field: 'kg.how', value: 'weighed', unit: null })
    expect(node.entered).toContainEqual({
      field: 'certificate.Pb.below',
      value: '0.001',
      unit: null,
    })
  })

  it('that was corrected names what replaced it, and that what it replaced', async () => {
    const { thing } = await asking.ask(
      `{ thing(by: { id: "pack:K-3" }) { reports { totalCount edges { node { ${REPORT} } } } } }`,
    )
    expect(thing.reports.totalCount).toBe(2)
    const [again, first] = thing.reports.edges.map(({ node }: { node: object }) => node)
    expect(again).toMatchObject({
      number: 'pack-3-again',
      inForce: true,
      replaces: { number: 'pack-3' },
      replacedBy: null,
    })
    expect(first).toMatchObject({
      number: 'pack-3',
      inForce: false,
      replaces: null,
      replacedBy: { number: 'pack-3-again', inForce: true },
    })
  })

  it('is found by any thing it names, page by page', async () => {
    const seen: string[] = []
    let after: string | null = null
    do {
      const { node } = await asking.ask(
        `query ($after: String) { node(id: "load:LD-1") { ... on Load { reports(first: 3, after: $after) {
          edges { node { type } } pageInfo { hasNextPage endCursor } } } } }`,
        { after },
      )
      seen.push(...node.reports.edges.map(({ node: { type } }: { node: { type: string } }) => type))
      after = node.reports.pageInfo.hasNextPage ? node.reports.pageInfo.endCursor : null
    } while (after !== null)
    expect(seen).toEqual([
      'ship.pans-packed.v1',
      'ship.pans-packed.v1',
      'inspect.castings-inspected.v1',
      'season.load-baked.v1',
      'season.load-oiled.v1',
      'clean.load-blasted.v1',
      'clean.castings-shaken-out.v1',
    ])
  })
})

describe('What was set aside', () => {
  it('comes newest first with the reason and what was sent, and by its id', async () => {
    const { setAside } = await asking.ask(
      `{ setAside(first: 2) { totalCount edges { node { id ${REPORT} } } pageInfo { hasNextPage } } }`,
    )
    expect(setAside.totalCount).toBe(3)
    expect(setAside.pageInfo.hasNextPage).toBe(true)
    const { setAside: melt } = await asking.ask(
      `{ setAside(station: MELT) { totalCount edges { node { id ${REPORT} } } } }`,
    )
    expect(melt.totalCount).toBe(2)
    const [broken, impossible] = melt.edges.map(({ node }: { node: object }) => node)
    expect(broken).toMatchObject({
      station: 'MELT',
      type: null,
      source: null,
      number: null,
      happenedAt: null,
      inForce: false,
      setAsideAs: 'UNDECODABLE',
      entered: [{ field: 'as sent', value: '{"broken', unit: null }],
    })
    expect(impossible).toMatchObject({ type: 'melt.heat-tapped.v1', setAsideAs: 'DOMAIN' })
    expect(impossible.setAsideFor).toContain('kg')
    expect(impossible.entered).toContainEqual({ field: 'data.kg', value: '-4', unit: null })
    const { node } = await asking.ask(`{ node(id: "${impossible.id}") { id ${REPORT} } }`)
    expect(node).toEqual(impossible)
  })

  it('is paged without losing any', async () => {
    const seen: string[] = []
    let after: string | null = null
    do {
      const { setAside } = await asking.ask(
        `query ($after: String) { setAside(first: 1, after: $after) { edges { node { id } } pageInfo { hasNextPage endCursor } } }`,
        { after },
      )
      seen.push(...setAside.edges.map(({ node }: { node: { id: string } }) => node.id))
      after = setAside.pageInfo.hasNextPage ? setAside.pageInfo.endCursor : null
    } while (after !== null)
    expect(new Set(seen).size).toBe(3)
  })
})

describe('Whether the reports are in', () => {
  it('tells of each station how far it is heard, what waits, and how late it is', async () => {
    const heard = await stationsHeard(asking.context(new Map([['melt', 4]])))
    expect(heard.map(({ station }) => station)).toEqual([
      'RECEIVE',
      'MELT',
      'MOLD',
      'POUR',
      'CLEAN',
      'SEASON',
      'INSPECT',
      'SHIP',
    ])
    const ship = heard.find(({ station }) => station === 'SHIP')!
    expect(ship).toMatchObject({ heardUpTo: '2026-03-02T14:30:00-06:00', waiting: 0 })
    // Last taken in at 20:31 universal time; its longest gap was 40 minutes, and now it is 21:00.
    expect(NOW).toBe(Date.parse('2026-03-02T21:00:00Z'))
    expect(ship.lateMinutes).toBe(0)
    const melt = heard.find(({ station }) => station === 'MELT')!
    // Last taken in at 13:51; its longest gap was 29 minutes.
    expect(melt).toMatchObject({ waiting: 4, lateMinutes: 7 * 60 + 9 - 29 })
  })

  it('holds a gap for usual when all but one in a hundred are no longer', () => {
    const hourly = Array.from({ length: 101 }, (_, i) => i * 60)
    expect(usualGap(hourly)).toBe(60)
    expect(usualGap([...hourly, 100_000])).toBe(60)
    expect(usualGap([5])).toBe(0)
    expect(usualGap([0, 7])).toBe(7)
  })
})

describe('What was entered', () => {
  it('is one field for a quantity with its unit, and takes the unit that stands beside it', () => {
    expect([
      ...enteredIn({
        readings: [{ quantity: 'hardness', value: 190, unit: 'C62' }],
        kg: { value: 2, unit: 'LBR' },
      }),
    ]).toEqual([
      { field: 'readings.0.quantity', value: 'hardness', unit: null },
      { field: 'readings.0.value', value: '190', unit: 'C62' },
      { field: 'readings.0.unit', value: 'C62', unit: null },
      { field: 'kg', value: '2', unit: 'LBR' },
    ])
  })
})
