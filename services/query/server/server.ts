// GraphQL over HTTP. The one home of Apollo: it knows the protocol, and nothing of the plant.
import { randomUUID } from 'node:crypto'
import type { IncomingMessage, ServerResponse } from 'node:http'
import { pipeline } from 'node:stream/promises'
import { ApolloServer, HeaderMap, type HTTPGraphQLResponse } from '@apollo/server'
import { unwrapResolverError } from '@apollo/server/errors'
import { ApolloServerPluginLandingPageDisabled } from '@apollo/server/plugin/disabled'
import type { GraphQLFormattedError, GraphQLSchema } from 'graphql'
import type { WhoSends } from '../../access/sign-in.ts'
import type { Who } from '../../access/who.ts'
import type { Context } from '../context.ts'
import { addressOf, type Listener, readBody, sendProblem } from './http.ts'
import { checkLimits, MOST_TOKENS } from './limits.ts'
import { orTurnAway } from './session.ts'

/** Unit: bytes. */
const LARGEST_BODY = 65_536
/** How long an answer may take. Unit: ms. */
const PATIENCE = 10_000

/** What a caller may be told as it stands; the rest is ours, and goes out as a number to ask about. */
const TOLD = new Set([
  'BAD_CURSOR',
  'BAD_REQUEST',
  'BAD_USER_INPUT',
  'FORBIDDEN',
  'GRAPHQL_PARSE_FAILED',
  'GRAPHQL_VALIDATION_FAILED',
  'OPERATION_RESOLUTION_FAILURE',
  'TOO_MUCH',
])

export interface QueryParts {
  schema: GraphQLSchema
  whoSends: WhoSends
  /** Called for each request. */
  context(who: Who): Context
  /** The schema may be asked for, and mistyped fields are answered with the nearest name. */
  demo: boolean
  /** How long an answer may take; absent: 10 seconds. Unit: ms. */
  patienceMs?: number
  /** Told what went wrong on our side, with the number the caller got. */
  failed(errorId: string, error: unknown): void
}

export interface QueryServer {
  /** Answers /graphql. */
  listener: Listener
  stop(): Promise<void>
}

/** Starts answering GraphQL; what listens on a port is http.ts. */
export async function startQuery(parts: QueryParts): Promise<QueryServer> {
  const apollo = new ApolloServer<Context>({
    schema: parts.schema,
    introspection: parts.demo,
    hideSchemaDetailsFromClientErrors: !parts.demo,
    includeStacktraceInErrorResponses: false,
    allowBatchedHttpRequests: false,
    csrfPrevention: true,
    persistedQueries: false,
    stopOnTerminationSignals: false,
    status400ForVariableCoercionErrors: true,
    parseOptions: { maxTokens: MOST_TOKENS },
    plugins: [
      ApolloServerPluginLandingPageDisabled(),
      {
        async requestDidStart() {
          return {
            async didResolveOperation({ schema, document, operation, request }) {
              checkLimits(schema, document, operation, request.variables ?? {})
            },
          }
        },
      },
    ],
    formatError: (formatted, error) => told(formatted, unwrapResolverError(error)),
    logger: { debug() {}, info() {}, warn() {}, error: (line) => parts.failed('apollo', line) },
  })

  function told(formatted: GraphQLFormattedError, error: unknown): GraphQLFormattedError {
    const code = String(formatted.extensions?.code)
    const { message, locations, path } = formatted
    const where = { ...(locations && { locations }), ...(path && { path }) }
    if (TOLD.has(code)) return { message, ...where, extensions: { code } }
    const errorId = randomUUID()
    parts.failed(errorId, error)
    return {
      message: `Something broke on our side. Its number is ${errorId}.`,
      ...where,
      extensions: { code: 'INTERNAL', errorId },
    }
  }

  async function ask(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const who = await parts.whoSends(request)
    const body = await bodyOf(request, response)
    if (body === undefined) return
    const answer = await withinTime(
      apollo.executeHTTPGraphQLRequest({
        httpGraphQLRequest: {
          method: request.method ?? 'GET',
          headers: headersOf(request),
          search: addressOf(request).search,
          body,
        },
        context: async () => parts.context(who),
      }),
      parts.patienceMs ?? PATIENCE,
    )
    if (answer) await send(response, answer)
    else sendProblem(response, 503, 'TOO_SLOW', 'This took too long: ask for less of it at once.')
  }

  await apollo.start()
  return {
    async listener(request, response) {
      if (addressOf(request).path !== '/graphql') return false
      await orTurnAway(response, () => ask(request, response))
      return true
    },
    stop: () => apollo.stop(),
  }
}

/** The body as JSON, or undefined when it was refused and the answer is given. */
async function bodyOf(request: IncomingMessage, response: ServerResponse): Promise<unknown> {
  if (request.method !== 'POST') return null
  const { 'content-type': type = '', 'content-encoding': encoding } = request.headers
  if (!/^application\/(?:[\w.-]+\+)?json(?:$|;)/i.test(type))
    return sendProblem(response, 415, 'BAD_REQUEST', 'Send a body of type application/json.')
  if (encoding !== undefined && encoding !== 'identity')
    return sendProblem(response, 415, 'BAD_REQUEST', 'Send the body as it is, not packed.')
  const bytes = await readBody(request, LARGEST_BODY)
  if (bytes === undefined)
    return sendProblem(response, 413, 'TOO_MUCH', `A body may hold ${LARGEST_BODY} bytes.`)
  try {
    const body: unknown = JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(bytes))
    return body ?? {}
  } catch {
    return sendProblem(response, 400, 'BAD_REQUEST', 'The body is no JSON in UTF-8.')
  }
}

function headersOf(request: IncomingMessage): HeaderMap {
  const headers = new HeaderMap()
  for (const [name, value] of Object.entries(request.headers))
    if (value !== undefined) headers.set(name, Array.isArray(value) ? value.join(', ') : value)
  return headers
}

/** What takes longer is still finished, but nobody waits for it. */
async function withinTime(
  answering: Promise<HTTPGraphQLResponse>,
  patienceMs: number,
): Promise<HTTPGraphQLResponse | undefined> {
  const { promise: late, resolve } = Promise.withResolvers<undefined>()
  const timer = setTimeout(resolve, patienceMs, undefined)
  try {
    return await Promise.race([answering, late])
  } finally {
    clearTimeout(timer)
  }
}

async function send(response: ServerResponse, answer: HTTPGraphQLResponse): Promise<void> {
  for (const [name, value] of answer.headers) response.setHeader(name, value)
  response.statusCode = answer.status ?? 200
  if (answer.body.kind === 'complete') response.end(answer.body.string)
  else await pipeline(answer.body.asyncIterator, response)
}
