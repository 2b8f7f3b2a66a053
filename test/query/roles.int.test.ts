// What somebody is told of a real record, whatever they ask: names that are not for them stand nowhere in
// it, and what is not theirs looks like what is not there.
import { type GraphQLObjectType, isObjectType } from 'graphql'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { ROLES, type Role } from '../../services/access/who.ts'
import { rolesOfFields } from '../../services/query/seen-by.ts'
import { Asking, someone } from './asking.ts'
import { sourceOf } from './record.ts'
import { type Field, selectionOf, typesIn } from './selection.ts'
import { DAY } from './small-plant.ts'

const WINDOW = '{from: "2026-03-02T00:00:00-06:00", to: "2026-03-03T00:00:00-06:00"}'
const LISTS = [
  ...['lots', 'charges', 'heats', 'ladles', 'sands', 'molds', 'pours', 'loads', 'packs', 'pans'],
  ...['shipments', 'inspections'],
]
const IDS = [
  'lot:PI-77',
  'heat:H-1',
  'pack:K-1',
  'shipment:SH-1',
  'inspection:I-1',
  'report:ship/0/3',
]
const ROOTS = [
  ...['reportsIn', 'setAside(first: 50)', ...LISTS.map((list) => `${list}(first: 50)`)],
  ...IDS.flatMap((id) => [`node(id: "${id}")`, `thing(by: {id: "${id}"})`]),
  `nodes(ids: ${JSON.stringify(IDS)})`,
  ...['pack:K-1', 'shipment:SH-1'].map((id) => `origins(of: {id: "${id}"})`),
  'origins(of: {mark: "SAME"})',
  'reach(from: {things: ["lot:PI-77"]}, affected: {share: 0.01})',
  'waiting(first: 50)',
  'inHand(text: "lot PI-77, shipment SH-1 and K-1")',
  `bath(furnace: "F1", window: ${WINDOW}, of: ["lot:PI-77"])`,
]

/** Names of the record, and who may read them. */
const NAMES: [name: RegExp, roles: readonly Role[]][] = [
  [/Harbor Goods/, ['quality', 'admin']],
  [/Ridge Iron|Vale|Mill\b/, ['quality', 'analyst', 'admin']],
  [/PI-77|IN-9|OIL-3/, ['quality', 'analyst', 'admin']],
  [/\bH-1\b|\bR10\b|K26-0412-B7/, ['quality', 'analyst', 'admin']],
  [/Stranger|southern/i, []],
]

let asking: Asking

beforeAll(async () => {
  asking = await Asking.start()
  await asking.record.say(...DAY)
  const base = { specversion: '1.0', time: '2026-03-02T06:00:00-06:00' }
  const lot = { lot: 'SOUTHERN-1', material: 'southern iron', kg: 5, supplier: 'Stranger' }
  const from = (plant: string) => sourceOf('receive').replace('north', plant)
  const recordedtime = '2026-03-02T12:01:00Z'
  const type = 'receive.lot-received.v1'
  // Of another plant in the same log; and two set aside, one with a customer in it.
  await asking.record.take(
    'receive',
    JSON.stringify({ ...base, id: 'x-1', source: from('south'), type, recordedtime, data: lot }),
    JSON.stringify({
      ...base,
      id: 'x-2',
      source: from('south'),
      type,
      recordedtime,
      data: { ...lot, kg: -1 },
    }),
  )
  const shipped = { shipment: 'SH-9', customer: 'Harbor Goods', lines: 'none' }
  await asking.record.take(
    'ship',
    JSON.stringify({
      ...{ ...base, id: 'x-3', source: sourceOf('ship'), type: 'ship.packs-shipped.v1' },
      ...{ recordedtime, data: shipped },
    }),
  )
})
afterAll(() => asking[Symbol.asyncDispose]())

/** All that a role may ask of everything, as one text. */
async function toldAs(role: Role): Promise<string> {
  const roles = rolesOfFields(asking.schema)
  const query = asking.schema.getQueryType()!
  const told: string[] = []
  for (const root of ROOTS) {
    const field = query.getFields()[root.split('(')[0]!]!
    const first = await asking.run(`{ ${root} { __typename } }`, {}, someone(role))
    told.push(JSON.stringify(first))
    const wanted = (owner: GraphQLObjectType, { name }: Field) =>
      roles.get(`${owner.name}.${name}`)!.includes(role)
    const below = selectionOf(asking.schema, field.type, wanted, typesIn(first.data))
    if (below === '') continue
    const result = await asking.run(`{ ${root} ${below} }`, {}, someone(role))
    told.push(JSON.stringify(result))
  }
  return told.join('\n')
}

describe.each(ROLES)('%s', (role) => {
  it('is told names that are theirs to know, and no other', async () => {
    const told = await toldAs(role)
    for (const [name, roles] of NAMES)
      if (!roles.includes(role)) expect(told.match(name)).toBe(null)
    if (role === 'quality') for (const [name] of NAMES.slice(0, -1)) expect(told).toMatch(name)
    if (role === 'analyst') expect(told).toMatch(/Ridge Iron/)
    if (role === 'admin') expect(told).toMatch(/SH-9/)
  })
})

describe('What is not theirs', () => {
  const asked = async (id: string, role: Role) => {
    const ofThem = someone(role)
    const all = [
      `{ node(id: "${id}") { __typename id } }`,
      `{ nodes(ids: ["${id}"]) { id } }`,
      `{ thing(by: {id: "${id}"}) { id } }`,
      `{ thing(by: {scan: "${id}"}) { id } }`,
      `{ origins(of: {id: "${id}"}) { __typename ... on NotKnown { sentence near } } }`,
      `{ bath(furnace: "F1", window: ${WINDOW}, of: ["${id}"]) { __typename ... on NotKnown { sentence near } } }`,
    ]
    const answers = await Promise.all(all.map((source) => asking.run(source, {}, ofThem)))
    return JSON.stringify(answers).replaceAll(id.slice(id.indexOf(':') + 1), 'NUMBER')
  }

  it('is like what is not there: another plant', async () => {
    for (const role of ['quality', 'analyst'] as const)
      expect(await asked('south/lot:SOUTHERN-1', role)).toBe(
        await asked('south/lot:NO-SUCH-1', role),
      )
    const south = await asking.record.store.pool.query(
      `select topic, partition, "offset" from statement where plant = 'south'
       union all select topic, partition, "offset" from set_aside where plant = 'south'`,
    )
    expect(south.rows.length).toBe(2)
    for (const { topic, partition, offset } of south.rows) {
      const id = `report:${topic}/${partition}/${offset}`
      expect(await asking.ask(`{ node(id: "${id}") { id } }`)).toEqual({ node: null })
    }
  })

  it('is like what is not there: shipments, to an analyst', async () => {
    expect(await asked('shipment:SH-1', 'analyst')).toBe(await asked('shipment:SH-8', 'analyst'))
    expect(await asked('shipment:SH-1', 'quality')).not.toBe(
      await asked('shipment:SH-8', 'quality'),
    )
  })

  it('is not told by its count either', async () => {
    const { lots } = await asking.ask('{ lots(first: 200) { totalCount edges { node { id } } } }')
    expect(lots.totalCount).toBe(lots.edges.length)
    const types = Object.values(asking.schema.getTypeMap()).filter(isObjectType)
    expect(types.length).toBeGreaterThan(50)
    expect(await asking.codeOf('{ shipments { totalCount } }', {}, someone('analyst'))).toBe(
      'FORBIDDEN',
    )
  })
})
