// HTTP intake for all stations. Whoever owns the server and its port hands requests on to the listener
// made here.
import { hash } from 'node:crypto'
import type { IncomingMessage, ServerResponse } from 'node:http'
import type { Deed } from '../access/audit.ts'
import { NotLetIn } from '../access/not-let-in.ts'
import type { WhoSends } from '../access/sign-in.ts'
import { hasOneOf, type Who } from '../access/who.ts'
import { problemSentence } from '../events/problem.ts'
import type { JsonObject } from '../events/statement.ts'
import { LogError } from '../log/log-error.ts'
import { traceOf } from '../watch/trace.ts'
import { answerFault, answerReceipts, RequestFault } from './answer.ts'
import { BodyReader } from './body.ts'
import { type Door, DoorClosedError, type Receipt, type Said, type Taking } from './door.ts'
import { eventOfReport } from './plain-report.ts'

export interface IntakeParts {
  door: Door
  whoSends: WhoSends
  /** Told what was sent by whom, and what became of it. */
  noted?(deed: Deed): void
  /** Such as https://foundry.example/plant/main: what plain reports without a source come from. */
  plantAddress?: string | undefined
}

/** Answers what is its own and says so; false leaves the request to the next. */
export type IntakeListener = (
  request: IncomingMessage,
  response: ServerResponse,
) => Promise<boolean>

const SINGLE_BYTES = 1024 * 1024
const BATCH_BYTES = 8 * 1024 * 1024
const MOST_EVENTS = 10_000
/** Taken in at once: between two, others get their turn. */
const SLICE = 500
const KINDS =
  'application/cloudevents+json, application/cloudevents-batch+json, application/x-ndjson'
const REPORT = '/report/'

/** Answers POST /events and POST /report/<type>. */
export function intakeListener(parts: IntakeParts): IntakeListener {
  const bodies = new BodyReader()
  return async (request, response) => {
    const url = URL.parse(request.url ?? '/', 'http://house')
    const answer = url && answerOf(url.pathname)
    if (!answer) return false
    try {
      const by = await parts.whoSends(request)
      if (!hasOneOf(by, ['station']))
        throw new RequestFault(403, 'Only stations report: the token has no role station.')
      const sent: Sent = { decision: '', rows: 0 }
      const began = performance.now()
      response.once('close', () => parts.noted?.(deedOf(by, sent, response, began)))
      await answer({ ...parts, by, sent, bodies, request, response, url })
    } catch (error) {
      answerFault(request, response, faultOf(error))
    }
    return true
  }
}

/** What became of the events of a request. */
interface Sent {
  hash?: string
  rows: number
  decision: string
}

function deedOf(
  { subject, roles }: Who,
  { hash, rows, decision }: Sent,
  { statusCode }: ServerResponse,
  began: number,
): Deed {
  return {
    ...{ subject, roles, what: 'reports', hash, rows },
    decision: decision || `refused: ${statusCode}`,
    seconds: Number(((performance.now() - began) / 1_000).toFixed(4)),
  }
}

function note(sent: Sent, body: Buffer, receipts: readonly Receipt[]): void {
  const count = (outcome: string) => receipts.filter((each) => each.outcome === outcome).length
  sent.hash = hash('sha256', body, 'hex')
  sent.rows = receipts.length
  sent.decision = (['accepted', 'duplicate', 'refused'] as const)
    .map((outcome) => `${count(outcome)} ${outcome}`)
    .join(', ')
}

interface Exchange extends IntakeParts {
  sent: Sent
  by: Who
  bodies: BodyReader
  request: IncomingMessage
  response: ServerResponse
  url: URL
}

function answerOf(path: string): ((exchange: Exchange) => Promise<void>) | undefined {
  if (path === '/events') return takeEvents
  if (path.startsWith(REPORT)) return takeReport
  return undefined
}

async function takeEvents({ door, by, sent, bodies, request, response }: Exchange): Promise<void> {
  allow(request, 'POST')
  if (door.trouble) throw unavailable(door.trouble)
  const { most, single, split } = kindOf(request)
  await bodies.read(request, most, async (body) => {
    const { said, lines } = split(body, request)
    if (said.length > MOST_EVENTS)
      throw new RequestFault(413, `A request may bring ${MOST_EVENTS} events. Send several.`)
    const receipts: Receipt[] = []
    for (let at = 0; at < said.length; at += SLICE)
      receipts.push(...(await door.take(said.slice(at, at + SLICE), { by, ...traced(request) })))
    note(sent, body, receipts)
    if (single) refuseUnreadable(receipts[0]!)
    answerReceipts(response, receipts, lines)
  })
}

async function takeReport(exchange: Exchange): Promise<void> {
  const { door, by, sent, bodies, request, response, url, plantAddress } = exchange
  allow(request, 'POST')
  if (door.trouble) throw unavailable(door.trouble)
  if (mediaType(request) !== 'application/json')
    throw new RequestFault(415, 'Send the data of the report as application/json.')
  await bodies.read(request, SINGLE_BYTES, async (body) => {
    const made = eventOfReport({
      type: url.pathname.slice(REPORT.length),
      beside: besideOf(request, url),
      data: jsonOf(body) as JsonObject,
      plantAddress,
    })
    if ('problem' in made) throw new RequestFault(400, problemSentence(made.problem))
    const receipts = await door.take([made.event], { by, ...traced(request) })
    note(sent, body, receipts)
    answerReceipts(response, receipts)
  })
}

/** A body cut into its events; `lines` are their numbers, where they are lines. */
interface Cut {
  said: Said[]
  lines?: number[]
}

interface BodyKind {
  most: number
  /** One event is the whole request: what cannot be read is a fault of it. */
  single: boolean
  split(body: Buffer, request: IncomingMessage): Cut
}

const STRUCTURED: BodyKind = {
  most: SINGLE_BYTES,
  single: true,
  split: (body) => ({ said: [body] }),
}
const BINARY: BodyKind = {
  most: SINGLE_BYTES,
  single: true,
  split: (body, { headers }) => ({ said: [{ headers: headers as Record<string, string>, body }] }),
}
const BATCH: BodyKind = { most: BATCH_BYTES, single: false, split: eventsOfBatch }
const LINES: BodyKind = { most: BATCH_BYTES, single: false, split: linesOf }

function kindOf(request: IncomingMessage): BodyKind {
  const type = mediaType(request)
  if (type === 'application/cloudevents+json') return STRUCTURED
  if (type === 'application/cloudevents-batch+json') return BATCH
  if (type === 'application/x-ndjson') return LINES
  if (type === 'application/json' && 'ce-specversion' in request.headers) return BINARY
  const sentence = `Send ${KINDS}, or application/json with the attributes in ce- headers.`
  throw new RequestFault(415, sentence, { 'accept-post': KINDS })
}

function mediaType({ headers }: IncomingMessage): string {
  const [type = '', ...parameters] = (headers['content-type'] ?? '').toLowerCase().split(';')
  const charset = parameters.map((each) => each.trim()).find((each) => each.startsWith('charset='))
  if (charset && !/^charset="?utf-?8"?$/.test(charset))
    throw new RequestFault(415, 'Send the text in UTF-8.')
  return type.trim()
}

function eventsOfBatch(body: Buffer): Cut {
  const events = jsonOf(body)
  if (!Array.isArray(events)) throw new RequestFault(400, 'A batch is a JSON array of events: […].')
  return { said: events }
}

/** The lines that hold anything. */
function linesOf(body: Buffer): Cut {
  const said: Said[] = []
  const lines: number[] = []
  for (let at = 0, line = 1; at < body.length; line++) {
    const end = body.indexOf(NEWLINE, at)
    const text = body.subarray(at, end < 0 ? body.length : end)
    at += text.length + 1
    if (text.every((byte) => byte <= SPACE)) continue
    said.push(text)
    lines.push(line)
  }
  return { said, lines }
}

const NEWLINE = 0x0a
const SPACE = 0x20

function jsonOf(body: Buffer): unknown {
  try {
    return JSON.parse(new TextDecoder('utf-8', { fatal: true }).decode(body))
  } catch (error) {
    throw new RequestFault(400, `The body is not JSON in UTF-8: ${(error as Error).message}`)
  }
}

/** What stands beside a plain report: in the query, or in headers as in CloudEvents binary mode. */
function besideOf({ headers }: IncomingMessage, url: URL): Map<string, string> {
  const beside = new Map<string, string>()
  for (const [name, value] of Object.entries(headers))
    if (name.startsWith('ce-') && name !== 'ce-specversion')
      beside.set(name.slice(3), String(value))
  for (const [name, value] of url.searchParams) beside.set(name, value)
  // A plus sign in a query means a space, and most who write an offset do not know it.
  const time = beside.get('time')?.replace(/ (?=\d\d:\d\d$)/, '+')
  return time === undefined ? beside : beside.set('time', time)
}

/** The caller's trace goes along, unless it is none. */
function traced({ headers: { traceparent } }: IncomingMessage): Taking {
  return traceOf(traceparent) ? { traceparent: traceparent as string } : {}
}

function refuseUnreadable(receipt: Receipt): void {
  const status = { UNDECODABLE: 400, OVERSIZE: 413 }[receipt.class as string]
  if (status) throw new RequestFault(status, receipt.problems[0]!.sentence)
}

function allow({ method }: IncomingMessage, allowed: string): void {
  if (allowed.split(', ').includes(method ?? '')) return
  throw new RequestFault(405, `This address takes ${allowed} only.`, { allow: allowed })
}

function unavailable(sentence: string): RequestFault {
  return new RequestFault(503, sentence, { 'retry-after': '10' })
}

/** What is not the request's fault nor the log's is ours: thrown on to whoever owns the server. */
function faultOf(error: unknown): RequestFault {
  if (error instanceof RequestFault) return error
  if (error instanceof NotLetIn) return new RequestFault(error.status, error.message, error.headers)
  if (error instanceof DoorClosedError || error instanceof LogError)
    return unavailable(error.message)
  if ((error as NodeJS.ErrnoException).code === 'ECONNRESET')
    return new RequestFault(400, 'The request was broken off.')
  throw error
}
