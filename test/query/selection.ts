// Questions made from the schema: all that can be asked below a field.
import {
  type GraphQLField,
  type GraphQLObjectType,
  type GraphQLOutputType,
  type GraphQLSchema,
  getNamedType,
  isCompositeType,
  isNonNullType,
  isObjectType,
} from 'graphql'

const DEEPEST = 3
/** Looked into however deep they stand: everything has them. */
const REPORTS = new Set(['ReportConnection', 'ReportEdge', 'Report', 'Entered'])

export type Field = GraphQLField<unknown, unknown>

/**
 * All of a type, a few levels deep; no type within itself. Names in the answer are `Type_field`. What could be
 * found in the first place is a million letters: with `found`, the names of types that are, no more is asked.
 */
export function selectionOf(
  schema: GraphQLSchema,
  type: GraphQLOutputType,
  wanted: (owner: GraphQLObjectType, field: Field) => boolean = () => true,
  found?: ReadonlySet<string>,
) {
  function below(type: GraphQLOutputType, depth: number, above: readonly string[]): string {
    const named = getNamedType(type)
    if (!isCompositeType(named)) return ''
    const parts = isObjectType(named) ? [named] : schema.getPossibleTypes(named)
    const inner = parts
      .filter(({ name }) => !above.includes(name))
      .filter(({ name }) => depth > 0 || !found || found.has(name))
      .map((part) => {
        const own = Object.values(part.getFields())
          .filter((field) => wanted(part, field) && needsNothing(field))
          .filter(({ type }) => isNear(getNamedType(type), depth))
          .map((field) => {
            const more = below(field.type, depth + 1, [...above, part.name])
            if (isCompositeType(getNamedType(field.type)) && more === '') return ''
            return `${part.name}_${field.name}: ${field.name} ${more}`
          })
          .filter((text) => text !== '')
        return own.length === 0 ? '' : `... on ${part.name} { ${own.join(' ')} }`
      })
      .filter((text) => text !== '')
    return inner.length === 0 ? '' : `{ __typename ${inner.join(' ')} }`
  }
  return below(type, 0, [])
}

export function needsNothing({ args }: Field): boolean {
  return args.every((arg) => !isNonNullType(arg.type) || arg.defaultValue !== undefined)
}

function isNear(type: ReturnType<typeof getNamedType>, depth: number): boolean {
  return !isCompositeType(type) || depth < DEEPEST || REPORTS.has(type.name)
}

/** The types of what stands in an answer's first place. */
export function typesIn(data: unknown): Set<string> {
  const things = Object.values(data ?? {}).flat() as ({ __typename: string } | null)[]
  return new Set(things.flatMap((thing) => thing?.__typename ?? []))
}
