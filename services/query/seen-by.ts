// Who sees what, held once for all fields when the schema is made: no resolver asks for it, and none can
// forget to. What stands in @seenBy of the schema counts; a field without it stops the start.
import {
  defaultFieldResolver,
  type GraphQLAbstractType,
  type GraphQLField,
  type GraphQLInterfaceType,
  type GraphQLObjectType,
  type GraphQLOutputType,
  type GraphQLSchema,
  getDirectiveValues,
  getNamedType,
  isAbstractType,
  isInterfaceType,
  isListType,
  isNonNullType,
  isObjectType,
} from 'graphql'
import { hasOneOf, isRole, type Role, type Who } from '../access/who.ts'
import type { Context } from './context.ts'
import { refusal } from './refusal.ts'

type Owner = GraphQLObjectType | GraphQLInterfaceType
type Field = GraphQLField<unknown, Context>

/**
 * Holds every field of a schema to its roles, and gives back the same schema. Throws when a field has
 * none, or a question has nothing that answers it.
 */
export function heldToRoles(schema: GraphQLSchema): GraphQLSchema {
  const sight = new Sight(schema)
  const roots = [schema.getQueryType(), schema.getMutationType(), schema.getSubscriptionType()]
  for (const owner of ownersIn(schema))
    for (const field of Object.values(owner.getFields()) as Field[]) {
      const roles = sight.rolesOf(owner, field)
      if (!isObjectType(owner)) continue
      if (roots.includes(owner) && !field.resolve && !field.subscribe)
        throw new Error(`Nothing answers ${owner.name}.${field.name}.`)
      hold(owner, field, roles, sight)
    }
  return schema
}

/** Who may see a field, by its name; of an interface it is what it says, of an object what holds. */
export function rolesOfFields(schema: GraphQLSchema): Map<string, readonly Role[]> {
  const sight = new Sight(schema)
  const named = ownersIn(schema).flatMap((owner) =>
    Object.values(owner.getFields()).map((field): [string, readonly Role[]] => [
      `${owner.name}.${field.name}`,
      sight.rolesOf(owner, field as Field),
    ]),
  )
  return new Map(named)
}

function ownersIn(schema: GraphQLSchema): Owner[] {
  return Object.values(schema.getTypeMap()).filter(
    (type): type is Owner =>
      (isObjectType(type) || isInterfaceType(type)) && !type.name.startsWith('__'),
  )
}

/** Which roles see which fields and types. */
class Sight {
  readonly #schema: GraphQLSchema
  readonly #ofTypes = new Map<string, ReadonlySet<Role>>()

  constructor(schema: GraphQLSchema) {
    this.#schema = schema
    for (const owner of ownersIn(schema)) {
      const fields = Object.values(owner.getFields()) as Field[]
      const roles = fields.flatMap((field) => this.#saidOf(owner, field))
      this.#ofTypes.set(owner.name, new Set(roles))
    }
  }

  /** What is said, less the roles for which what the field leads to is closed. */
  rolesOf(owner: Owner, field: Field): readonly Role[] {
    const type = getNamedType(field.type)
    const beyond = isObjectType(type)
      ? [type]
      : isAbstractType(type)
        ? this.#schema.getPossibleTypes(type)
        : undefined
    const said = this.#saidOf(owner, field)
    if (!beyond) return said
    return said.filter((role) => beyond.some(({ name }) => this.#ofTypes.get(name)!.has(role)))
  }

  /** What may come out of a field and is closed to some who see the field. */
  closedBehind(type: GraphQLAbstractType, roles: readonly Role[]): Map<string, readonly Role[]> {
    const closed = new Map<string, readonly Role[]>()
    for (const { name } of this.#schema.getPossibleTypes(type)) {
      const open = this.#ofTypes.get(name)!
      if (!roles.every((role) => open.has(role))) closed.set(name, [...open])
    }
    return closed
  }

  #saidOf(owner: Owner, field: Field): Role[] {
    const directive = this.#schema.getDirective('seenBy')
    if (!directive) throw new Error('The schema has no directive @seenBy.')
    const [own, whole] = [field, owner].map(
      ({ astNode }) => astNode && getDirectiveValues(directive, astNode),
    )
    const words = (own ?? whole)?.roles as readonly string[] | undefined
    const roles = words?.map((word) => word.toLowerCase()).filter(isRole) ?? []
    if (roles.length > 0) return roles
    throw new Error(`${owner.name}.${field.name} does not say who may see it: give it @seenBy.`)
  }
}

function hold(owner: Owner, field: Field, roles: readonly Role[], sight: Sight): void {
  const { resolve = defaultFieldResolver, subscribe } = field
  const type = getNamedType(field.type)
  const closed = isAbstractType(type) ? sight.closedBehind(type, roles) : new Map()
  const gaps = leavesGaps(field.type)
  const assertSeen = ({ who }: Context) => {
    if (!hasOneOf(who, roles)) throw forbidden(`${owner.name}.${field.name}`, roles)
  }
  field.resolve = (source, args, context, info) => {
    assertSeen(context)
    const value = resolve(source, args, context, info)
    return closed.size === 0 ? value : less(value, { closed, gaps, who: context.who })
  }
  if (subscribe)
    field.subscribe = (source, args, context, info) => {
      assertSeen(context)
      return subscribe(source, args, context, info)
    }
}

interface Closing {
  closed: ReadonlyMap<string, readonly Role[]>
  gaps: boolean
  who: Who
}

/** Without what the reader may not see: that looks like what is not there, wherever nothing may stand. */
function less(value: unknown, closing: Closing): unknown {
  if (value instanceof Promise) return value.then((found) => less(found, closing))
  if (Array.isArray(value)) return value.map((each) => less(each, closing))
  if (typeof value !== 'object' || value === null || !('__typename' in value)) return value
  const roles = closing.closed.get(String(value.__typename))
  if (!roles || hasOneOf(closing.who, roles)) return value
  if (closing.gaps) return null
  throw forbidden(String(value.__typename), roles)
}

/** Whether null may stand for one of what comes out. */
function leavesGaps(type: GraphQLOutputType): boolean {
  if (isNonNullType(type)) return isListType(type.ofType) && leavesGaps(type.ofType)
  return isListType(type) ? leavesGaps(type.ofType) : true
}

function forbidden(what: string, roles: readonly Role[]) {
  return refusal('FORBIDDEN', `${what} is for ${roles.join(', ')}.`)
}
