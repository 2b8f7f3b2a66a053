// News as server-sent events (WHATWG HTML, 9.2): that reports came in, and what was decided. A hint and
// never the data: whoever hears it asks for the rest. The id of each says how far the record had come, so
// that whoever was away is told what came meanwhile.
import type { IncomingMessage, ServerResponse } from 'node:http'
import { NotLetIn } from '../../access/not-let-in.ts'
import type { WhoSends } from '../../access/sign-in.ts'
import { hasOneOf, type Who } from '../../access/who.ts'
import { addressOf, type Listener, sendProblem } from './http.ts'
import { orTurnAway } from './session.ts'

/** How far the record has come, by topic/partition. */
export type Positions = ReadonlyMap<string, bigint>

export interface Decided {
  sentence: string
  at: string
}

export interface NewsParts {
  whoSends: WhoSends
  /** Catches up, and tells how far that is. */
  positions(): Promise<Positions>
  /** What was decided behind these positions, oldest first; at most so many. */
  decided(who: Who, since: Positions, most: number): Promise<Decided[]>
  failed(error: unknown): void
  /** Between two looks. Unit: ms. */
  everyMs?: number
}

export interface News {
  listener: Listener
  /** Ends every stream. */
  hangUp(): void
}

interface Stream {
  who: Who
  response: ServerResponse
  at: Positions
  heardMs: number
}

const EVERY_MS = 2_000
/** Something is sent at least so often, so that what is in between does not take it for dead. */
const SILENCE_MS = 15_000
const MOST_STREAMS = 200
/** Each page of a browser is one. */
const MOST_OF_ONE = 20
const MOST_DECISIONS = 50
/** Not read by its receiver. Unit: bytes. */
const MOST_UNREAD = 65_536

/** Answers GET /news for everybody who has a role. */
export function newsOf(parts: NewsParts): News {
  const { whoSends, failed, everyMs = EVERY_MS } = parts
  const streams = new Set<Stream>()
  let timer: NodeJS.Timeout | undefined

  /** As they are now: those given go on growing. */
  async function positions(): Promise<Positions> {
    return new Map(await parts.positions())
  }

  async function open(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const who = await whoSends(request)
    if (who.roles.size === 0) throw new NotLetIn('FORBIDDEN', 'The token has no role here.')
    const own = [...streams].filter((stream) => stream.who.subject === who.subject)
    if (streams.size >= MOST_STREAMS || own.length >= MOST_OF_ONE)
      return sendProblem(response, 503, 'BUSY', 'Too many listen already.', { 'retry-after': '30' })
    const now = await positions()
    const since = positionsIn(request.headers['last-event-id'])
    response.writeHead(200, { 'content-type': 'text/event-stream; charset=utf-8' })
    const isAnew = since !== undefined && !follows(now, since)
    const stream = { who, response, at: isAnew ? now : (since ?? now), heardMs: Date.now() }
    response.write(isAnew ? eventText('anew', now, {}) : `id: ${idOf(stream.at)}\n\n`)
    streams.add(stream)
    response.once('close', () => streams.delete(stream))
    if (since) await tell(stream, now)
    timer ??= setTimeout(look, everyMs).unref()
  }

  async function look(): Promise<void> {
    try {
      const now = await positions()
      for (const stream of streams) await tell(stream, now)
    } catch (error) {
      failed(error)
    }
    timer = streams.size > 0 ? setTimeout(look, everyMs).unref() : undefined
  }

  async function tell(stream: Stream, now: Positions): Promise<void> {
    const { who, response, at } = stream
    // A token counts until its end; a receiver that does not read would fill the memory.
    if (Date.now() > who.untilMs || response.writableLength > MOST_UNREAD)
      return void response.end()
    const news = follows(now, at) ? await newsSince(at, now, who) : [eventText('anew', now, {})]
    stream.at = now
    if (news.length > 0) response.write(news.join(''))
    else if (Date.now() - stream.heardMs > SILENCE_MS) response.write(': still here\n\n')
    else return
    stream.heardMs = Date.now()
  }

  async function newsSince(at: Positions, now: Positions, who: Who): Promise<string[]> {
    const came = reportsBetween(at, now)
    if (came.size === 0) return []
    const news = [eventText('reports', now, { reports: Object.fromEntries(came) })]
    const since = new Map([...now.keys()].map((key) => [key, at.get(key) ?? 0n]))
    const decisions = await parts.decided(who, since, MOST_DECISIONS)
    if (decisions.length === 0) return news
    // What was decided may name customers: others hear that something was, and ask what it means for them.
    const told = hasOneOf(who, ['quality']) ? { decisions } : {}
    return [...news, eventText('decided', now, { count: decisions.length, ...told })]
  }

  return {
    async listener(request, response) {
      if (addressOf(request).path !== '/news') return false
      if (request.method === 'GET') await orTurnAway(response, () => open(request, response))
      else sendProblem(response, 405, 'BAD_REQUEST', 'News are read by GET.', { allow: 'GET' })
      return true
    },
    hangUp() {
      clearTimeout(timer)
      for (const { response } of streams) response.end()
    },
  }
}

/** How many, by topic. */
function reportsBetween(at: Positions, now: Positions): Map<string, number> {
  const came = new Map<string, number>()
  for (const [key, next] of now) {
    const more = Number(next - (at.get(key) ?? 0n))
    const topic = key.slice(0, key.lastIndexOf('/'))
    if (more > 0) came.set(topic, (came.get(topic) ?? 0) + more)
  }
  return came
}

function eventText(event: string, at: Positions, data: object): string {
  return `id: ${idOf(at)}\nevent: ${event}\ndata: ${JSON.stringify(data)}\n\n`
}

function idOf(at: Positions): string {
  return Buffer.from(JSON.stringify([...at].map(([key, next]) => [key, `${next}`]))).toString(
    'base64url',
  )
}

/** Undefined when it is none of ours: then news begin now. */
function positionsIn(id: string | string[] | undefined): Positions | undefined {
  if (typeof id !== 'string' || id.length > 8_000) return undefined
  try {
    const said = JSON.parse(Buffer.from(id, 'base64url').toString()) as unknown[]
    const pairs = said.map((pair) => {
      const [key, next] = pair as [unknown, unknown]
      if (typeof key !== 'string' || !/^\d{1,18}$/.test(String(next))) throw new Error()
      return [key, BigInt(String(next))] as const
    })
    return new Map(pairs)
  } catch {
    return undefined
  }
}

/** Positions only grow, unless the record was made anew. */
function follows(now: Positions, at: Positions): boolean {
  return [...at].every(([key, next]) => (now.get(key) ?? 0n) >= next)
}
