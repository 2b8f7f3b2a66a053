import { makeExecutableSchema } from '@graphql-tools/schema'
import { graphql } from 'graphql'
import { describe, expect, it } from 'vitest'
import { heldToRoles, rolesOfFields } from '../../services/query/seen-by.ts'
import { someone } from './asking.ts'

const HEAD = `
  directive @seenBy(roles: [Role!]!) on OBJECT | INTERFACE | FIELD_DEFINITION
  enum Role { QUALITY SERVICE ANALYST STATION ADMIN }
`
const PLANT = `${HEAD}
  interface Thing @seenBy(roles: [QUALITY, ANALYST]) { id: ID! }
  type Lot implements Thing @seenBy(roles: [QUALITY, ANALYST]) {
    id: ID!
    price: Float @seenBy(roles: [QUALITY])
  }
  type Shipment implements Thing @seenBy(roles: [QUALITY]) { id: ID!, to: String }
  type Query @seenBy(roles: [QUALITY, ANALYST]) {
    lot: Lot
    shipment: Shipment
    maybe(of: String!): Thing
    several: [Thing]!
    sure: Thing!
    all: [Thing!]!
    word: String @seenBy(roles: [SERVICE])
  }
`
const LOT = { __typename: 'Lot', id: 'lot:1', price: 3 }
const SHIPMENT = { __typename: 'Shipment', id: 'shipment:1', to: 'Somebody' }

function plant(typeDefs = PLANT) {
  const resolvers = {
    Query: {
      lot: () => LOT,
      shipment: () => SHIPMENT,
      maybe: async (_: unknown, { of }: { of: string }) =>
        [LOT, SHIPMENT].find(({ id }) => id === of) ?? null,
      several: () => [LOT, SHIPMENT],
      sure: () => SHIPMENT,
      all: () => [LOT, SHIPMENT],
      word: () => 'word',
    },
  }
  const resolverValidationOptions = { requireResolversToMatchSchema: 'ignore' } as const
  return heldToRoles(makeExecutableSchema({ typeDefs, resolvers, resolverValidationOptions }))
}

const schema = plant()

async function asked(source: string, ...roles: Parameters<typeof someone>) {
  const contextValue = { who: someone(...roles) }
  const { data, errors } = await graphql({ schema, source, contextValue })
  return {
    data: JSON.parse(JSON.stringify(data)),
    codes: errors?.map(({ extensions }) => extensions.code) ?? [],
  }
}

describe('A schema held to roles', () => {
  it('does not start when a field says nothing', () => {
    const bare = `${HEAD} type Query { lots: Int }`
    expect(() => plant(bare)).toThrow(/^Query.lots does not say who may see it/)
    const face = `${HEAD} interface Face { id: ID } type Query @seenBy(roles: [QUALITY]) { word: Face }`
    expect(() => plant(face)).toThrow(/^Face.id does not say/)
    expect(() => plant(`${HEAD} type Query @seenBy(roles: []) { word: Int }`)).toThrow('Query.word')
    expect(() => plant('type Query { word: Int }')).toThrow('no directive')
  })

  it('does not start when nothing answers a question', () => {
    const lone = `${HEAD} type Query @seenBy(roles: [QUALITY]) { nobody: Int }`
    expect(() => plant(lone.replace('nobody', 'word'))).not.toThrow()
    expect(() => heldToRoles(makeExecutableSchema({ typeDefs: lone }))).toThrow(
      'Nothing answers Query.nobody.',
    )
  })

  it('answers who may see, and refuses who may not with a code, beside the rest', async () => {
    const both = '{ lot { id price } }'
    expect(await asked(both, 'quality')).toEqual({
      data: { lot: { id: 'lot:1', price: 3 } },
      codes: [],
    })
    expect(await asked(both, 'analyst')).toEqual({
      data: { lot: { id: 'lot:1', price: null } },
      codes: ['FORBIDDEN'],
    })
    expect(await asked(both, 'service')).toEqual({ data: { lot: null }, codes: ['FORBIDDEN'] })
    expect(await asked('{ word }', 'quality')).toEqual({
      data: { word: null },
      codes: ['FORBIDDEN'],
    })
    expect((await asked('{ word lot { id } }', 'service', 'analyst')).codes).toEqual([])
    expect((await asked('{ lot { id } word }')).codes).toEqual(['FORBIDDEN', 'FORBIDDEN'])
  })

  it('lets nobody even learn the type of what is closed to them', async () => {
    expect((await asked('{ shipment { __typename } }', 'analyst')).data).toEqual({ shipment: null })
    expect(await asked('{ sure { __typename } }', 'analyst')).toEqual({
      data: null,
      codes: ['FORBIDDEN'],
    })
    expect((await asked('{ all { __typename } }', 'analyst')).codes).toEqual(['FORBIDDEN'])
  })

  it('answers alike for what is not there and what is closed', async () => {
    const of = (id: string) => `{ maybe(of: "${id}") { __typename id } }`
    const absent = await asked(of('shipment:9'), 'analyst')
    expect(await asked(of('shipment:1'), 'analyst')).toEqual(absent)
    expect((await asked(of('lot:1'), 'analyst')).data.maybe.id).toBe('lot:1')
    expect((await asked(of('shipment:1'), 'quality')).data.maybe.id).toBe('shipment:1')
    expect(await asked('{ several { id } }', 'analyst')).toEqual({
      data: { several: [{ id: 'lot:1' }, null] },
      codes: [],
    })
  })

  it('tells who sees a field: those it says, less those for whom it leads nowhere', () => {
    const roles = rolesOfFields(schema)
    expect(roles.get('Query.shipment')).toEqual(['quality'])
    expect(roles.get('Query.maybe')).toEqual(['quality', 'analyst'])
    expect(roles.get('Lot.price')).toEqual(['quality'])
    expect(roles.get('Query.word')).toEqual(['service'])
  })
})
