// What one request may ask for. Worked out before anything is resolved, in one walk over the document:
// each fragment is measured once, so fragments that double each other cost no time here.
import {
  type DocumentNode,
  type FieldNode,
  type FragmentDefinitionNode,
  type GraphQLCompositeType,
  type GraphQLField,
  type GraphQLSchema,
  getArgumentValues,
  getNamedType,
  getNullableType,
  getVariableValues,
  isCompositeType,
  isInterfaceType,
  isListType,
  isObjectType,
  Kind,
  type OperationDefinitionNode,
  type SelectionSetNode,
  typeFromAST,
  visit,
} from 'graphql'
import { kept } from '../../metal/kept.ts'
import { refusal } from '../refusal.ts'

/** Words and signs in one document, beyond which it is not even parsed. */
export const MOST_TOKENS = 2000
const MOST_DEEP = 15
const MOST_VALUES = 20_000
const MOST_ALIASES = 30
const MOST_QUESTIONS = 10
/** A list that is not paged is taken to hold so many. */
const USUAL_LIST = 5

/** What a selection comes to: levels of fields, values that may come out, fields at its top. */
interface Measure {
  deep: number
  values: number
  top: number
}

/** What is known of a document whatever its variables are: most are asked again and again. */
interface Reading {
  /** A text in it holds a zero byte: none in the record does, and the database refuses one. */
  zero: boolean
  aliases: number
  /** By the sizes that its variables asked for. */
  measures: Map<string, Measure>
}

const readings = new WeakMap<OperationDefinitionNode, Reading>()
const MOST_MEASURES = 100

function readingOf(document: DocumentNode): Reading {
  let [zero, aliases] = [false, 0]
  visit(document, {
    StringValue({ value }) {
      zero ||= value.includes('\0')
    },
    Field({ alias }) {
      if (alias) aliases++
    },
  })
  return { zero, aliases, measures: new Map() }
}

/** Of variables what a measure follows from: numbers, and how much is in a list. */
function sizesIn(variables: Record<string, unknown>): string {
  const sizes = Object.entries(variables).flatMap(([name, value]) => {
    const size = Array.isArray(value) ? value.length : value
    return typeof size === 'number' || size === null ? [[name, size]] : []
  })
  return JSON.stringify(sizes)
}

/** The values a request may bring. Throws TOO_MUCH, with a sentence that says what to ask for less of. */
export function checkLimits(
  schema: GraphQLSchema,
  document: DocumentNode,
  operation: OperationDefinitionNode | undefined,
  given: Record<string, unknown>,
): number {
  if (!operation) return 0
  // Defaults count: a page size may stand in the head of the request.
  const variables = getVariableValues(schema, operation.variableDefinitions ?? [], given)
  // Variables that do not fit are refused where the request is run.
  if (!variables.coerced) return 0
  const { zero, aliases, measures } = kept(readings, operation, () => readingOf(document))
  if (zero || JSON.stringify(variables.coerced).includes('\\u0000'))
    throw refusal('BAD_USER_INPUT', 'A text holds a zero byte, which no name does.')
  if (aliases > MOST_ALIASES)
    throw refusal(
      'TOO_MUCH',
      `A request may rename ${MOST_ALIASES} fields, and this one ${aliases}.`,
    )
  const root = schema.getRootType(operation.operation)
  if (!root) throw refusal('BAD_USER_INPUT', `There is no ${operation.operation} here, only query.`)
  if (measures.size >= MOST_MEASURES) measures.clear()
  const { deep, values, top } = kept(measures, sizesIn(variables.coerced), () =>
    measureOf(schema, document, variables.coerced)(operation.selectionSet, root),
  )
  if (top > MOST_QUESTIONS)
    throw refusal('TOO_MUCH', `A request may ask ${MOST_QUESTIONS} questions, and this one ${top}.`)
  if (deep > MOST_DEEP)
    throw refusal(
      'TOO_MUCH',
      `A request may go ${MOST_DEEP} fields deep, and this one goes ${deep}.`,
    )
  if (values > MOST_VALUES)
    throw refusal(
      'TOO_MUCH',
      `A request may bring ${MOST_VALUES} values, and this one could bring more: ` +
        'ask for smaller pages (first), or for fewer lists inside lists.',
    )
  return values
}

function measureOf(
  schema: GraphQLSchema,
  document: DocumentNode,
  variables: Record<string, unknown>,
) {
  const fragments = new Map<string, FragmentDefinitionNode>()
  for (const node of document.definitions)
    if (node.kind === Kind.FRAGMENT_DEFINITION) fragments.set(node.name.value, node)
  const measured = new Map<string, Measure>()

  function ofSelection(selection: SelectionSetNode, type: GraphQLCompositeType): Measure {
    const sum = { deep: 0, values: 0, top: 0 }
    for (const node of selection.selections) {
      const part =
        node.kind === Kind.FIELD
          ? ofField(node, type)
          : node.kind === Kind.FRAGMENT_SPREAD
            ? ofFragment(node.name.value)
            : ofSelection(node.selectionSet, typeNamed(node.typeCondition, type))
      sum.deep = Math.max(sum.deep, part.deep)
      sum.values += part.values
      sum.top += part.top
    }
    return sum
  }

  function ofFragment(name: string): Measure {
    const known = measured.get(name)
    if (known) return known
    const fragment = fragments.get(name)!
    const found = ofSelection(fragment.selectionSet, typeNamed(fragment.typeCondition))
    measured.set(name, found)
    return found
  }

  function ofField(node: FieldNode, type: GraphQLCompositeType): Measure {
    const name = node.name.value
    // The schema describes itself: it is finite, and the validation rules bound its depth.
    if (name.startsWith('__')) return { deep: 1, values: 1, top: 1 }
    const field = isObjectType(type) || isInterfaceType(type) ? type.getFields()[name]! : undefined
    const inner = field && getNamedType(field.type)
    if (!field || !node.selectionSet || !isCompositeType(inner))
      return { deep: 1, values: 1, top: 1 }
    const below = ofSelection(node.selectionSet, inner)
    const many = manyOf(field, getArgumentValues(field, node, variables))
    return { deep: below.deep + 1, values: 1 + many * below.values, top: 1 }
  }

  function typeNamed(
    condition: FragmentDefinitionNode['typeCondition'] | undefined,
    otherwise?: GraphQLCompositeType,
  ): GraphQLCompositeType {
    return condition ? (typeFromAST(schema, condition) as GraphQLCompositeType) : otherwise!
  }

  return ofSelection
}

/** How many of what a field leads to may come out. */
function manyOf(field: GraphQLField<unknown, unknown>, asked: Record<string, unknown>): number {
  const { first, ids } = asked
  if (typeof first === 'number') return Math.max(1, first)
  if (Array.isArray(ids)) return Math.max(1, ids.length)
  // The edges of a connection are as many as its page, which counts already.
  return isListType(getNullableType(field.type)) && field.name !== 'edges' ? USUAL_LIST : 1
}
