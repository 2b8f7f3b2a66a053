// The page to ask from, for the demo: a text box, questions to start from, and what can be asked.
// Everything on it comes from here.
import { readFileSync } from 'node:fs'
import {
  type GraphQLField,
  type GraphQLNamedType,
  type GraphQLSchema,
  getNamedType,
  isEnumType,
  isInputObjectType,
  isInterfaceType,
  isObjectType,
  isUnionType,
} from 'graphql'
import { addressOf, type Listener } from './http.ts'

/** Nothing from elsewhere, nothing written into the page itself. */
const POLICY =
  "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; " +
  "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

/** Answers the page and what it loads. */
export function pageListener(schema: GraphQLSchema): Listener {
  const reference = Buffer.from(JSON.stringify(referenceOf(schema)))
  const files = new Map<string, [type: string, body: Buffer]>([
    ['/ask', ['text/html', read('page.html')]],
    ['/ask/page.css', ['text/css', read('page.css')]],
    ['/ask/page.js', ['text/javascript', read('page.js')]],
    ['/ask/page-questions.js', ['text/javascript', read('page-questions.js')]],
    ['/ask/reference.json', ['application/json', reference]],
  ])
  return (request, response) => {
    const file = files.get(addressOf(request).path)
    if (!file || (request.method !== 'GET' && request.method !== 'HEAD')) return false
    const [type, body] = file
    response.writeHead(200, {
      'content-type': `${type}; charset=utf-8`,
      'content-length': body.length,
      'content-security-policy': POLICY,
    })
    response.end(request.method === 'HEAD' ? undefined : body)
    return true
  }
}

function read(name: string): Buffer {
  return readFileSync(new URL(name, import.meta.url))
}

interface ReferencePart {
  name: string
  means: string
  /** As it is written, and the name of the type it comes to. */
  type?: string
  of?: string
  takes?: { name: string; type: string; means: string }[]
}

interface ReferenceType {
  name: string
  means: string
  parts: ReferencePart[]
}

/** What can be asked, as plain lists; the questions first. */
export function referenceOf(schema: GraphQLSchema): ReferenceType[] {
  const types = Object.values(schema.getTypeMap()).filter(({ name }) => !name.startsWith('__'))
  const query = schema.getQueryType()!
  return [query, ...types.filter((type) => type !== query)].map((type) => ({
    name: type.name,
    means: type.description ?? '',
    parts: partsOf(type),
  }))
}

function partsOf(type: GraphQLNamedType): ReferencePart[] {
  if (isEnumType(type))
    return type.getValues().map(({ name, description }) => ({ name, means: description ?? '' }))
  if (isUnionType(type))
    return type.getTypes().map(({ name, description }) => ({
      ...{ name, means: description ?? '' },
      ...{ type: name, of: name },
    }))
  if (isObjectType(type) || isInterfaceType(type))
    return Object.values(type.getFields()).map(fieldOf)
  if (isInputObjectType(type))
    return Object.values(type.getFields()).map((field) => ({
      ...{ name: field.name, means: field.description ?? '' },
      ...{ type: String(field.type), of: getNamedType(field.type).name },
    }))
  return []
}

function fieldOf(field: GraphQLField<unknown, unknown>): ReferencePart {
  return {
    name: field.name,
    means: field.description ?? '',
    type: String(field.type),
    of: getNamedType(field.type).name,
    takes: field.args.map(({ name, type, description, defaultValue }) => ({
      name,
      type: String(type) + (defaultValue === undefined ? '' : ` = ${JSON.stringify(defaultValue)}`),
      means: description ?? '',
    })),
  }
}
