import {
  type GraphQLObjectType,
  type GraphQLOutputType,
  getNullableType,
  graphql,
  isInterfaceType,
  isListType,
  isObjectType,
  isUnionType,
} from 'graphql'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { makeSchema } from '../../services/query/schema.ts'
import { WorkedHouse } from '../house.ts'
import { QUALITY } from './asking.ts'
import { selectionOf, typesIn } from './selection.ts'

// Every field says something somewhere: one that always answered null would be a promise not kept.

const WINDOW = '{from: "2026-04-11T00:00:00-06:00", to: "2026-04-13T00:00:00-06:00"}'
/** Questions that between them reach every type. */
const ROOTS = [
  'origins(of: {id: "pack:PK0412-020"})',
  'origins(of: {mark: "K26-0412-B2"})',
  'origins(of: {id: "lot:NO-SUCH"})',
  'origins(of: {id: "load:RK0412-025"})',
  'origins(of: {id: "load:NEVER-1"})',
  'reach(from: {things: ["lot:SB-3400"]}, affected: {share: 0.01})',
  'reach(from: {things: ["lot:IN-3413"]}, affected: {dose: 0.5})',
  `bath(furnace: "f1", window: ${WINDOW}, of: ["lot:SB-3400"])`,
  ...['INDIVIDUALS', 'MEANS_BY_DEVIATION', 'CUMULATIVE_SUM'].map(
    (form) => `chart(of: {quantity: "pouring temperature", window: ${WINDOW}}, form: ${form})`,
  ),
  `capability(of: {quantity: "pouring temperature", window: ${WINDOW}}, lowest: 1300, highest: 1420)`,
  `capability(of: {quantity: "wind", window: ${WINDOW}}, lowest: 1)`,
  'concentration(of: {lots: ["lot:SB-3400"], symbol: "Cu", limitPercent: 0.1, assayPercent: 0.6})',
  'concentration(of: {lots: ["lot:SB-3400"], symbol: "Te", limitPercent: 0.05})',
  'reconcile(of: {window: {from: "2026-04-11T08:00:00-06:00", to: "2026-04-11T09:00:00-06:00"}})',
  'reconcile(of: {thing: {id: "load:SH0411-a-001"}})',
  'misfits(first: 10)',
  'outOfLimits(first: 10)',
  `causes(about: {stage: "after-blast", defects: ["pinhole"], window: ${WINDOW}})`,
  `causes(about: {stage: "after-shave", window: ${WINDOW}})`,
  `defectRates(about: {stage: "after-blast", defects: ["pinhole"], window: ${WINDOW}}, by: RECIPE)`,
  `defectRates(about: {stage: "after-blast", defects: ["pinhole"], window: ${WINDOW}}, by: LOT, lot: "lot:SB-3400")`,
  `rateChart(about: {stage: "after-blast", window: ${WINDOW}}, form: CUMULATIVE_SUM)`,
  `complaintRates(of: {window: ${WINDOW}}, by: PRODUCT)`,
  'reportsIn',
  'setAside(first: 50)',
  ...[
    'lots',
    'charges',
    'heats',
    'ladles',
    'sands',
    'molds',
    'pours',
    'loads',
    'packs',
    'pans',
    'shipments',
    'inspections',
  ].map((list) => `${list}(first: 60)`),
  'nodes(ids: ["bin:bay-3", "furnace:f1", "pack:PK0412-020", "lot:PI-3371", "load:SH0411-a-001", "lot:SB-3374"])',
  'thing(by: {id: "bin:tank-1"})',
]
/** Fields of which this foundry says nothing, and those of events that came past the doors. */
const EMPTY = new Set([
  'Cavity.mark',
  'Pour.furnace',
  'Gap.report',
  'Report.setAsideAs',
  'Report.setAsideFor',
])

const schema = makeSchema()
let worked: WorkedHouse

beforeAll(async () => {
  worked = await WorkedHouse.open({ seed: 1, days: 2 })
})
afterAll(() => worked[Symbol.asyncDispose]())

it('lets no field answer null everywhere', { timeout: 300_000 }, async () => {
  const told = new Set<string>()
  const asked = new Set<string>()
  const fields = schema.getQueryType()!.getFields()
  for (const root of ROOTS) {
    const field = fields[root.split('(')[0]!]!
    const ask = async (below: string) => {
      const contextValue = worked.house.context(QUALITY)
      const { data, errors } = await graphql({
        schema,
        source: `{ ${root} ${below} }`,
        contextValue,
      })
      expect(errors, `${root}: ${errors?.[0]?.message}`).toBeUndefined()
      return data
    }
    const found = typesIn(await ask('{ __typename }'))
    if (found.size === 0) continue
    const data = await ask(selectionOf(schema, field.type, () => true, found))
    note(field.type, (data as Record<string, unknown>)[field.name], asked, told)
  }
  const silent = [...asked].filter((name) => !told.has(name) && !EMPTY.has(name))
  expect(silent.sort()).toEqual([])
})

function note(
  type: GraphQLOutputType,
  value: unknown,
  asked: Set<string>,
  told: Set<string>,
): void {
  if (value === null || value === undefined) return
  const bare = getNullableType(type)
  if (isListType(bare)) {
    for (const one of value as unknown[]) note(bare.ofType, one, asked, told)
    return
  }
  if (!isObjectType(bare) && !isUnionType(bare) && !isInterfaceType(bare)) return
  const record = value as Record<string, unknown>
  const part = schema.getType(String(record.__typename)) as GraphQLObjectType
  for (const field of Object.values(part.getFields())) {
    const name = `${part.name}.${field.name}`
    const answer = record[`${part.name}_${field.name}`]
    if (answer === undefined) continue
    asked.add(name)
    if (answer !== null) told.add(name)
    note(field.type, answer, asked, told)
  }
}
