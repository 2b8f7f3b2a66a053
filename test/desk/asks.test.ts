import {
  type DocumentNode,
  type GraphQLInputType,
  getNamedType,
  isEnumType,
  isInputObjectType,
  isInterfaceType,
  isListType,
  isNonNullType,
  isObjectType,
  isRequiredInputField,
  Kind,
  type OperationDefinitionNode,
  parse,
  TypeInfo,
  typeFromAST,
  validate,
  visit,
  visitWithTypeInfo,
} from 'graphql'
import { describe, expect, it } from 'vitest'
import type { Role } from '../../services/access/who.ts'
import { makeSchema } from '../../services/query/schema.ts'
import { rolesOfFields } from '../../services/query/seen-by.ts'
import { deskDocuments } from '../../services/query/server/desk.ts'
import { checkLimits, MOST_TOKENS } from '../../services/query/server/limits.ts'

const schema = makeSchema()
const seenBy = rolesOfFields(schema)

interface Asked {
  name: string
  document: DocumentNode
  operation: OperationDefinitionNode
}

const asked: Asked[] = Object.entries(deskDocuments()).flatMap(([file, text]) => {
  const document = parse(text)
  return document.definitions.flatMap((operation) =>
    operation.kind === Kind.OPERATION_DEFINITION
      ? [{ name: `${file} ${operation.name?.value}`, document, operation }]
      : [],
  )
})

/** Fields an operation asks, its fragments taken in, as Type.field. */
function fieldsOf({ document, operation }: Asked): string[] {
  const fields = new Set<string>()
  const info = new TypeInfo(schema)
  const spreads = new Set<string>()
  const read = (node: OperationDefinitionNode | DocumentNode['definitions'][number]) =>
    visit(
      node,
      visitWithTypeInfo(info, {
        Field({ name, directives }): false | undefined {
          // What is asked of some only is for the page to tell; the tests of pages see who is refused.
          if (directives?.some((directive) => directive.name.value === 'include')) return false
          const parent = info.getParentType()
          if (parent && !name.value.startsWith('__')) fields.add(`${parent.name}.${name.value}`)
          return undefined
        },
        FragmentSpread({ name }) {
          spreads.add(name.value)
        },
      }),
    )
  read(operation)
  for (const name of spreads) {
    const fragment = document.definitions.find(
      (one) => one.kind === Kind.FRAGMENT_DEFINITION && one.name.value === name,
    )
    if (fragment) read(fragment)
  }
  return [...fields]
}

/** Some value of a type, no more than what must be said. */
function sampleOf(type: GraphQLInputType): unknown {
  if (isNonNullType(type)) return sampleOf(type.ofType)
  if (isListType(type)) return [sampleOf(type.ofType)]
  if (isEnumType(type)) return type.getValues()[0]!.name
  if (isInputObjectType(type)) {
    const fields = Object.values(type.getFields())
    const said = type.isOneOf ? fields.slice(0, 1) : fields.filter(isRequiredInputField)
    return Object.fromEntries(said.map((field) => [field.name, sampleOf(field.type)]))
  }
  const samples: Record<string, unknown> = {
    ...{ DateTime: '2026-04-11T10:00:00Z', Int: 1, Float: 0.6, Boolean: false },
  }
  return samples[type.name] ?? 'lot:1'
}

/** Who asks it, where that is not everybody who may ask its first fields. */
const ASKED_BY: Record<string, readonly Role[]> = {
  'in-hand.graphql ThingsInHand': ['quality', 'analyst'],
  'in-hand.graphql MarksInHand': ['service'],
  'reach.graphql ReachAgain': ['quality'],
  'reach.graphql ReachAt': ['quality'],
  'reach.graphql ReachSince': ['quality'],
  'reach.graphql ReachPacks': ['quality'],
  'recall.graphql Matter': ['quality'],
  'recall.graphql ToFind': ['quality'],
  'recall.graphql SinceOpened': ['quality'],
}

/** To whom the page that asks it is open. */
function rolesFor(one: Asked): readonly Role[] {
  const said = ASKED_BY[one.name]
  if (said) return said
  const roots = new Set(['Query', 'Mutation'])
  const fields = fieldsOf(one)
  const byRoot = fields.filter((field) => roots.has(field.split('.')[0]!))
  const first = seenBy.get(byRoot[0]!) ?? []
  return first.filter((role) => byRoot.every((field) => seenBy.get(field)?.includes(role)))
}

describe.each(asked.map((one) => [one.name, one] as const))('What the desk asks: %s', (_, one) => {
  it('is a question of this house', () => {
    expect(validate(schema, one.document).map(({ message }) => message)).toEqual([])
  })

  it('stays under what one request may ask for', () => {
    const variables = Object.fromEntries(
      (one.operation.variableDefinitions ?? []).flatMap(({ variable, type }) =>
        type.kind === Kind.NON_NULL_TYPE
          ? [[variable.name.value, sampleOf(typeFromAST(schema, type) as GraphQLInputType)]]
          : [],
      ),
    )
    // Nothing is measured of variables that do not fit.
    expect(checkLimits(schema, one.document, one.operation, variables)).toBeGreaterThan(0)
    expect(one.document.loc!.source.body.split(/\s+/).length).toBeLessThan(MOST_TOKENS)
  })

  it('asks no field that is closed to somebody to whom its page is open', () => {
    const roles = rolesFor(one)
    expect(roles.length, 'nobody may ask it').toBeGreaterThan(0)
    const closed = fieldsOf(one).flatMap((field) => {
      const [type] = field.split('.')
      const owner = getNamedType(schema.getType(type!))
      if (!isObjectType(owner) && !isInterfaceType(owner)) return []
      const may = seenBy.get(field) ?? []
      return roles.filter((role) => !may.includes(role)).map((role) => `${field} to ${role}`)
    })
    expect(closed, 'say in ASKED_BY who asks it, or ask less').toEqual([])
  })
})

describe('The desk', () => {
  it('asks something', () => {
    expect(asked.length).toBeGreaterThan(5)
  })
})
