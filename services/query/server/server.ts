// GraphQL over HTTP. The one home of Apollo: it knows the protocol, and nothing of the plant.
import { randomUUID } from 'node:crypto'
import type { IncomingMessage, ServerResponse } from 'node:http'
import { pipeline } from 'node:stream/promises'
import { ApolloServer, HeaderMap, type HTTPGraphQLResponse } from '@apollo/server'
import { unwrapResolverError } from '@apollo/server/errors'
import {
  ApolloServerPluginCacheControlDisabled,
  ApolloServerPluginLandingPageDisabled,
} from '@apollo/server/plugin/disabled'
import type { GraphQLFormattedError, GraphQLSchema } from 'graphql'
import type { Deed } from '../../access/audit.ts'
import type { Budget } from '../../access/budget.ts'
import type { WhoSends } from '../../access/sign-in.ts'
import type { Who } from '../../access/who.ts'
import type { Context } from '../context.ts'
import { refusal } from '../refusal.ts'
import { type Asked, askedBy, deedOf } from './asked.ts'
import { askedOf, type Documents } from './documents.ts'
import { addressOf, type Listener, readBody, sendProblem } from './http.ts'
import { checkLimits, MOST_TOKENS } from './limits.ts'
import { isWorthPacking, pack, packingFor } from './packing.ts'
import { orTurnAway } from './session.ts'

/** Unit: bytes. */
const LARGEST_BODY = 65_536
/** How long an answer may take. Unit: ms. */
const PATIENCE = 10_000
/** Requests in hand; beyond, they are sent away at once. One that nobody waits for any more counts too. */
const MOST_AT_ONCE = 100
/** What any request takes of a budget, whatever it asks for. Unit: values. */
const LEAST_VALUES = 20

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
  'TOO_OFTEN',
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
  /** Requests in hand, beyond which others are sent away; absent: 100. */
  mostAtOnce?: number
  /** What each subject may ask for; absent, as much as they like. */
  budget?: Budget
  /** Questions that may be asked by their id; absent, none are. */
  documents?: Documents
  /** Told what was asked by whom, and what became of it. */
  noted?(deed: Deed): void
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
  const apollo = new ApolloServer<Context & { asked: Asked }>({
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
      // Nothing may be kept, which http.ts says of all answers: it would look at each field of each of them.
      ApolloServerPluginCacheControlDisabled(),
      {
        async requestDidStart() {
          return {
            async didResolveOperation({ schema, document, operation, request, contextValue }) {
              const values = checkLimits(schema, document, operation, request.variables ?? {})
              const seconds = parts.budget?.(contextValue.who.subject, values) ?? 0
              if (seconds > 0) throw refusal('TOO_OFTEN', tooOften(seconds))
            },
            async willSendResponse({ contextValue, operationName, queryHash, response }) {
              if (response.body.kind !== 'single') return
              const { data, errors } = response.body.singleResult
              Object.assign(contextValue.asked, { operationName, hash: queryHash, data, errors })
            },
          }
        },
      },
    ],
    formatError: (formatted, error) => told(formatted, unwrapResolverError(error)),
    logger: { debug() {}, info() {}, warn() {}, error: (line) => parts.failed('apollo', line) },
  })

  let inHand = 0

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
    const asked = askedBy(who)
    if (parts.noted) response.once('close', () => parts.noted!(deedOf(asked, response)))
    const seconds = parts.budget?.(who.subject, LEAST_VALUES) ?? 0
    if (seconds > 0)
      return sendProblem(response, 429, 'TOO_OFTEN', tooOften(seconds), {
        'retry-after': String(seconds),
      })
    const body = await documentOf(request, response)
    if (body === undefined) return
    if (inHand >= (parts.mostAtOnce ?? MOST_AT_ONCE))
      return sendProblem(response, 503, 'BUSY', 'Too much is asked just now: ask again soon.', {
        'retry-after': '1',
      })
    inHand++
    const answering = apollo
      .executeHTTPGraphQLRequest({
        httpGraphQLRequest: {
          method: request.method ?? 'GET',
          headers: headersOf(request),
          search: addressOf(request).search,
          body,
        },
        context: async () => Object.assign(parts.context(who), { asked }),
      })
      .finally(() => inHand--)
    const answer = await withinTime(answering, parts.patienceMs ?? PATIENCE)
    if (answer) await send(request, response, answer)
    else sendProblem(response, 503, 'TOO_SLOW', 'This took too long: ask for less of it at once.')
  }

  /** The body, with the question in it where it names one. */
  async function documentOf(request: IncomingMessage, response: ServerResponse): Promise<unknown> {
    const { documents } = parts
    const body = await bodyOf(request, response)
    if (!documents || body === undefined) return body
    const isObject = typeof body === 'object' && body !== null
    // What is no question at all is for the protocol to refuse.
    const asked = isObject ? askedOf(documents, body) : documents.isAll ? undefined : body
    if (asked !== undefined) return asked
    return sendProblem(
      response,
      400,
      'NOT_TRUSTED',
      documents.isAll ? 'This house answers only the questions it was given.' : NOT_KNOWN,
    )
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

const NOT_KNOWN = 'This house knows no question by that id: load the page anew.'

function tooOften(seconds: number): string {
  return `You have asked for much lately: ask again in ${seconds} s.`
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

async function send(
  request: IncomingMessage,
  response: ServerResponse,
  answer: HTTPGraphQLResponse,
): Promise<void> {
  for (const [name, value] of answer.headers) response.setHeader(name, value)
  response.statusCode = answer.status ?? 200
  if (answer.body.kind !== 'complete') return pipeline(answer.body.asyncIterator, response)
  const body = Buffer.from(answer.body.string)
  response.setHeader('vary', 'accept-encoding')
  const packing = isWorthPacking(body) ? packingFor(request) : undefined
  const sent = packing ? await pack(body, packing, 'answer') : body
  if (packing) response.setHeader('content-encoding', packing)
  response.setHeader('content-length', sent.length)
  response.end(sent)
}
