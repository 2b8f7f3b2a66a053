// The matrix: every field, asked as every role, on every way that leads to its type. What answers is made
// of the schema, so no field is left out for want of data. `@seenBy` is read anew here, by other code.
import { makeExecutableSchema } from '@graphql-tools/schema'
import {
  type DocumentNode,
  executeSync,
  type GraphQLInputType,
  type GraphQLObjectType,
  type GraphQLOutputType,
  type GraphQLSchema,
  getNamedType,
  getNullableType,
  isAbstractType,
  isCompositeType,
  isEnumType,
  isInputObjectType,
  isListType,
  isNonNullType,
  isObjectType,
  parse,
} from 'graphql'
import { expect, it } from 'vitest'
import { ROLES, type Role } from '../../services/access/who.ts'
import { SDL } from '../../services/query/sdl.ts'
import { heldToRoles, rolesOfFields } from '../../services/query/seen-by.ts'
import { someone } from './asking.ts'
import type { Field } from './selection.ts'

/** One way to a type: from the question down, with what stands for each thing of several kinds. */
interface Way {
  to: GraphQLObjectType
  steps: { owner: string; field: Field; as: string }[]
}

interface Mocked {
  who: ReturnType<typeof someone>
  /** What a field of several kinds comes to on this way. */
  as: ReadonlyMap<string, string>
}

const schema = mocked()
const ways = waysThrough(schema)

/** Every field answers, as its type says. */
function mocked(): GraphQLSchema {
  const bare = makeExecutableSchema({ typeDefs: SDL })
  for (const type of Object.values(bare.getTypeMap()))
    if (isObjectType(type) && !type.name.startsWith('__'))
      for (const field of Object.values(type.getFields()))
        field.resolve = (_source, _args, { as }: Mocked) =>
          madeUp(bare, field.type, as.get(`${type.name}.${field.name}`))
  return heldToRoles(bare)
}

function madeUp(schema: GraphQLSchema, type: GraphQLOutputType, as?: string): unknown {
  const bare = getNullableType(type)
  if (isListType(bare)) return [madeUp(schema, bare.ofType, as)]
  if (isAbstractType(bare)) return { __typename: as ?? schema.getPossibleTypes(bare)[0]!.name }
  if (isObjectType(bare)) return { __typename: bare.name }
  if (isEnumType(bare)) return bare.getValues()[0]!.value
  return { Int: 1, Float: 1, Boolean: true, DateTime: 0 }[bare.name] ?? 'told'
}

/** The shortest way to each type, and from there one way more over every field that leads on. */
function waysThrough(schema: GraphQLSchema): Way[] {
  const roots = [schema.getQueryType(), schema.getMutationType()].filter((type) => type != null)
  const shortest = new Map<string, Way>(roots.map((to) => [to.name, { to, steps: [] }]))
  const all = [...shortest.values()]
  for (const way of shortest.values())
    for (const field of Object.values(way.to.getFields())) {
      const type = getNamedType(field.type)
      if (!isCompositeType(type)) continue
      for (const to of isAbstractType(type) ? schema.getPossibleTypes(type) : [type]) {
        const on = { to, steps: [...way.steps, { owner: way.to.name, field, as: to.name }] }
        all.push(on)
        if (!shortest.has(to.name)) shortest.set(to.name, on)
      }
    }
  return all
}

const documents = new Map<string, DocumentNode>()

function parsed(source: string): DocumentNode {
  const known = documents.get(source) ?? parse(source, { noLocation: true })
  documents.set(source, known)
  return known
}

function ask({ steps }: Way, last: string, role: Role) {
  const source = steps.reduceRight((below, { field, as }) => {
    const inside = isObjectType(getNamedType(field.type)) ? below : `... on ${as} { ${below} }`
    return `${field.name}${argsOf(field)} { ${inside} }`
  }, last)
  const as = new Map(steps.map(({ owner, field, as }) => [`${owner}.${field.name}`, as]))
  const mutates = steps[0] ? steps[0].owner === 'Mutation' : false
  const document = parsed(`${mutates ? 'mutation' : 'query'} { ${source} }`)
  const contextValue: Mocked = { who: someone(role), as }
  const { data, errors } = executeSync({ schema, document, contextValue })
  let told: unknown = data
  for (const { field } of steps) {
    told = (told as Record<string, unknown> | null)?.[field.name]
    while (Array.isArray(told)) told = told[0]
  }
  return { told: told as Record<string, unknown> | null | undefined, errors }
}

function argsOf({ args }: Field): string {
  const given = args
    .filter(({ type, defaultValue }) => isNonNullType(type) && defaultValue === undefined)
    .map(({ name, type }) => `${name}: ${literalOf(type)}`)
  return given.length > 0 ? `(${given.join(', ')})` : ''
}

function literalOf(type: GraphQLInputType): string {
  const bare = getNullableType(type)
  if (isListType(bare)) return `[${literalOf(bare.ofType)}]`
  if (isEnumType(bare)) return bare.getValues()[0]!.name
  if (!isInputObjectType(bare))
    return { Int: '1', Float: '1', Boolean: 'true' }[bare.name] ?? '"2026-03-02T06:00:00-06:00"'
  const fields = Object.values(bare.getFields())
  const needed = bare.isOneOf
    ? fields.slice(0, 1)
    : fields.filter((each) => isNonNullType(each.type) && each.defaultValue === undefined)
  return `{${needed.map(({ name, type }) => `${name}: ${literalOf(type)}`).join(', ')}}`
}

/** Who may see a field of a type, from the text of the schema. */
function rolesWritten(): Map<string, string[]> {
  const roles = new Map<string, string[]>()
  const said = (text: string) => /@seenBy\(roles: \[([A-Z, ]+)\]\)/.exec(text)?.[1]?.split(', ')
  const written = (node: { loc?: { start: number; end: number } }) =>
    SDL.slice(node.loc!.start, node.loc!.end)
  const ofTypes = new Map<string, string[] | undefined>()
  const { definitions } = parse(SDL)
  for (const definition of definitions)
    if (definition.kind === 'ObjectTypeDefinition')
      ofTypes.set(definition.name.value, said(written(definition).split('{')[0]!))
  for (const definition of definitions) {
    if (definition.kind !== 'ObjectTypeDefinition' && definition.kind !== 'ObjectTypeExtension')
      continue
    const type = definition.name.value
    for (const field of definition.fields ?? [])
      roles.set(`${type}.${field.name.value}`, said(written(field)) ?? ofTypes.get(type) ?? [])
  }
  return roles
}

it('shows every field to those who may see it, on every way, and to nobody else', {
  timeout: 60_000,
}, () => {
  const written = rolesWritten()
  const open = (role: Role, type: GraphQLObjectType) =>
    Object.keys(type.getFields()).some((name) =>
      written.get(`${type.name}.${name}`)!.includes(role.toUpperCase()),
    )
  const seen = (role: Role, owner: string, field: Field) => {
    const type = getNamedType(field.type)
    const beyond = isObjectType(type)
      ? [type]
      : isAbstractType(type)
        ? schema.getPossibleTypes(type)
        : []
    return (
      written.get(`${owner}.${field.name}`)!.includes(role.toUpperCase()) &&
      (beyond.length === 0 || beyond.some((each) => open(role, each)))
    )
  }
  const leaks: string[] = []
  const lost: string[] = []
  const fields = new Set<string>()
  let asked = 0
  for (const way of ways)
    for (const role of ROLES) {
      const led =
        way.steps.every(({ owner, field }) => seen(role, owner, field)) && open(role, way.to)
      const name = way.steps.map(({ field }) => field.name).join(' ')
      // The type of a thing alone tells that there is one.
      if (!led && way.steps.length > 0 && ask(way, '__typename', role).told)
        leaks.push(`${role}: ${name} tells that there is a ${way.to.name}`)
      for (const field of Object.values(way.to.getFields()) as Field[]) {
        const below = isCompositeType(getNamedType(field.type)) ? ' { __typename }' : ''
        const { told, errors } = ask(way, `${field.name}${argsOf(field)}${below}`, role)
        const isTold = told?.[field.name] !== null && told?.[field.name] !== undefined
        const may = led && seen(role, way.to.name, field)
        asked++
        fields.add(`${way.to.name}.${field.name}`)
        if (isTold && !may) leaks.push(`${role}: ${name} ${way.to.name}.${field.name}`)
        if (!isTold && may && below === '')
          lost.push(`${role}: ${name} ${way.to.name}.${field.name} ${errors}`)
      }
    }
  expect(leaks).toEqual([])
  expect(lost).toEqual([])
  // All fields of all types, or the matrix is no matrix.
  expect([...fields].sort()).toEqual([...written.keys()].sort())
  expect(asked).toBeGreaterThan(fields.size * ROLES.length)
})

it('leads a service rep to no lot, heat, recipe, supplier or customer', () => {
  const roles = rolesOfFields(schema)
  const reached = new Set<string>()
  const reach = (type: GraphQLObjectType) => {
    if (reached.has(type.name)) return
    reached.add(type.name)
    for (const field of Object.values(type.getFields())) {
      if (!roles.get(`${type.name}.${field.name}`)!.includes('service')) continue
      const next = getNamedType(field.type)
      const parts = isObjectType(next)
        ? [next]
        : isAbstractType(next)
          ? schema.getPossibleTypes(next)
          : []
      for (const part of parts) reach(part)
    }
  }
  reach(schema.getQueryType()!)
  const things = schema.getPossibleTypes(schema.getType('Thing') as never).map(({ name }) => name)
  const closed = [
    ...things,
    'Supplier',
    'Customer',
    'Recipe',
    'Charge',
    'Report',
    'Reach',
    'Origins',
  ]
  expect(closed.filter((name) => reached.has(name))).toEqual([])
  expect(reached.has('Completeness')).toBe(true)
})
