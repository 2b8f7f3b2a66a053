import { readFileSync } from 'node:fs'
import {
  buildSchema,
  type GraphQLArgument,
  type GraphQLField,
  type GraphQLInputField,
  type GraphQLNamedType,
  getNamedType,
  isInputObjectType,
  isInterfaceType,
  isObjectType,
  isUnionType,
} from 'graphql'
import { describe, expect, it } from 'vitest'
import { makeSchema } from '../../services/query/schema.ts'
import { SDL } from '../../services/query/sdl.ts'
import { LISTED_SORTS } from '../../services/store/read-lists.ts'

const schema = buildSchema(SDL)
const types = Object.values(schema.getTypeMap()).filter(({ name }) => !name.startsWith('__'))

interface Place {
  at: string
  type: GraphQLNamedType
  means: string
}

/** Every field of a type and every argument of its fields, with what it is said to mean. */
function placesIn(type: GraphQLNamedType): Place[] {
  if (!isObjectType(type) && !isInterfaceType(type) && !isInputObjectType(type)) return []
  return Object.values(type.getFields()).flatMap((field) => {
    const args: readonly GraphQLArgument[] = 'args' in field ? field.args : []
    const at = `${type.name}.${field.name}`
    return [placeOf(at, field), ...args.map((arg) => placeOf(`${at}(${arg.name})`, arg))]
  })
}

type Part = GraphQLArgument | GraphQLInputField | GraphQLField<unknown, unknown>

function placeOf(at: string, { type, description }: Part): Place {
  return { at, type: getNamedType(type) as GraphQLNamedType, means: description ?? '' }
}

const places = types.flatMap(placesIn)

describe('The schema', () => {
  it('is valid and every question has what answers it', () => {
    expect(() => makeSchema()).not.toThrow()
  })

  it('means the same when it runs as it is written', () => {
    const described = (type: GraphQLNamedType) => [type.name, type.description ?? '']
    const running = makeSchema()
    expect(types.map(({ name }) => described(running.getType(name)!))).toEqual(types.map(described))
  })

  it('describes every type, field, argument and word', () => {
    const silent = [
      ...types.filter(({ description }) => !description).map(({ name }) => name),
      ...places.filter(({ means }) => !means).map(({ at }) => at),
      ...types.flatMap((type) =>
        'getValues' in type
          ? type
              .getValues()
              .filter((value) => !value.description)
              .map(({ name }) => name)
          : [],
      ),
    ]
    expect(
      silent.filter((name) => !['Boolean', 'Float', 'ID', 'Int', 'String'].includes(name)),
    ).toEqual([])
  })

  it('says the unit of every number', () => {
    const numeric = new Set(['Int', 'Float', 'Estimate'])
    const unitless = places.filter(
      ({ type, means }) => numeric.has(type.name) && !/Unit: \S/.test(means),
    )
    expect(unitless.map(({ at }) => at)).toEqual([])
  })

  it('leads from the questions to every type', () => {
    const reached = new Set<GraphQLNamedType>()
    const reach = (type: GraphQLNamedType) => {
      if (reached.has(type)) return
      reached.add(type)
      if (isUnionType(type)) for (const member of type.getTypes()) reach(member)
      if (isInterfaceType(type)) for (const made of schema.getPossibleTypes(type)) reach(made)
      if (isObjectType(type) || isInterfaceType(type))
        for (const face of type.getInterfaces()) reach(face)
      for (const place of placesIn(type)) reach(place.type)
    }
    reach(schema.getQueryType()!)
    reach(schema.getMutationType()!)
    for (const { args, name } of schema.getDirectives())
      for (const arg of args) reach(placeOf(name, arg).type)
    expect(types.filter((type) => !reached.has(type)).map(({ name }) => name)).toEqual([])
  })

  it('shows every answer with what it rests on', () => {
    // They say that nothing was asked about yet.
    const NO_ANSWERS = ['NotKnown', 'Unclear', 'MarkUnclear', 'MarkNotFound']
    const unions = types.filter(isUnionType).filter(({ name }) => name.endsWith('Outcome'))
    const bare = unions
      .flatMap((union) => union.getTypes())
      .filter(({ name }) => !NO_ANSWERS.includes(name))
      .filter((type) => !('completeness' in type.getFields()))
    expect(unions.length).toBeGreaterThan(0)
    expect(bare.map(({ name }) => name)).toEqual([])
  })

  it('pages every list of rows by first and after', () => {
    const unpaged = places
      .filter(({ type, at }) => type.name.endsWith('Connection') && !at.includes('('))
      .filter(({ at }) => {
        const [owner, field] = at.split('.') as [string, string]
        const type = schema.getType(owner)
        if (!isObjectType(type) && !isInterfaceType(type)) return true
        const args = type.getFields()[field]!.args.map(({ name }) => name)
        return !args.includes('first') || !args.includes('after')
      })
    expect(unpaged.map(({ at }) => at)).toEqual([])
  })
})

describe('The index of the lists', () => {
  it('holds exactly the sorts of facts that lists are made of', () => {
    const migration = readFileSync('prisma/migrations/0003_lists/migration.sql', 'utf8')
    const indexed = /where what in \(([^)]*)\)/.exec(migration)![1]!
    expect([...indexed.matchAll(/'([^']+)'/g)].map(([, sort]) => sort).sort()).toEqual(
      [...LISTED_SORTS].sort(),
    )
  })
})
