// Questions known beforehand. A request then brings the hash of one, or one of them as it stands; where a
// house answers only those, whatever else somebody thinks of is never looked at.
import { createHash } from 'node:crypto'
import { readFile } from 'node:fs/promises'
import { type GraphQLSchema, parse, validate } from 'graphql'

export interface Documents {
  /** By `sha256:` and their hash in hex, as GraphQL over HTTP writes an id of a document. */
  known: ReadonlyMap<string, string>
  /** Nothing else may be asked. */
  isAll: boolean
}

/** Those of a JSON object by names of their own, read from a file. Throws one sentence. */
export async function documentsIn(file: string): Promise<Record<string, unknown>> {
  try {
    return JSON.parse(await readFile(file, 'utf8')) as Record<string, unknown>
  } catch (error) {
    throw new Error(`HEAT_TO_PAN_DOCUMENTS names no file of questions: ${(error as Error).message}`)
  }
}

/** Throws one sentence when one of them cannot be asked. */
export function assertAskable(
  said: Record<string, unknown>,
  schema: GraphQLSchema,
): asserts said is Record<string, string> {
  for (const [name, text] of Object.entries(said)) {
    const problem = typeof text === 'string' ? problemOf(text, schema) : 'it is no text'
    if (problem) throw new Error(`The question ${name} cannot be asked: ${problem}`)
  }
}

/** The same by their ids. */
export function byId(said: Record<string, string>): Map<string, string> {
  return new Map(Object.values(said).map((text) => [idOf(text), text]))
}

function problemOf(text: string, schema: GraphQLSchema): string | undefined {
  try {
    return validate(schema, parse(text))[0]?.message
  } catch (error) {
    return (error as Error).message
  }
}

export function idOf(document: string): string {
  return `sha256:${createHash('sha256').update(document).digest('hex')}`
}

/** The request with its document in it; undefined when it may not be asked. */
export function askedOf({ known, isAll }: Documents, request: object): object | undefined {
  const { documentId, query, ...rest } = request as { documentId?: unknown; query?: unknown }
  if (documentId === undefined && !isAll) return request
  const id =
    typeof documentId === 'string' ? documentId : typeof query === 'string' ? idOf(query) : ''
  const found = known.get(id)
  return found === undefined ? undefined : { ...rest, query: found }
}
