// The only questions that may be asked, where a file names them. A request then brings the hash of one, or
// one of them as it stands: whatever else somebody thinks of is never looked at.
import { createHash } from 'node:crypto'
import { readFile } from 'node:fs/promises'
import { type GraphQLSchema, parse, validate } from 'graphql'

/** Documents by `sha256:` and their hash in hex, as GraphQL over HTTP writes an id of a document. */
export type Documents = ReadonlyMap<string, string>

/** Reads a JSON object of documents by names of their own. Throws one sentence. */
export async function documentsIn(file: string, schema: GraphQLSchema): Promise<Documents> {
  try {
    const said = Object.entries(JSON.parse(await readFile(file, 'utf8')) as Record<string, unknown>)
    const known = new Map<string, string>()
    for (const [name, text] of said) {
      const [problem] = typeof text === 'string' ? validate(schema, parse(text)) : [{ message: NO }]
      if (problem) throw new Error(`${name}: ${problem.message}`)
      known.set(idOf(text as string), text as string)
    }
    return known
  } catch (error) {
    throw new Error(`HEAT_TO_PAN_DOCUMENTS names no file of questions: ${(error as Error).message}`)
  }
}

const NO = 'It is no text.'

export function idOf(document: string): string {
  return `sha256:${createHash('sha256').update(document).digest('hex')}`
}

/** The request with its document in it; undefined when that is none of them. */
export function trusted(documents: Documents, request: object): object | undefined {
  const { documentId, query, ...rest } = request as { documentId?: unknown; query?: unknown }
  const id =
    typeof documentId === 'string' ? documentId : typeof query === 'string' ? idOf(query) : ''
  const known = documents.get(id)
  return known === undefined ? undefined : { ...rest, query: known }
}
