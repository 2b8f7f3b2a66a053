// The HTTP edge: one server, several who listen on it, and what holds for all of them.
import {
  createServer,
  type IncomingMessage,
  type OutgoingHttpHeaders,
  type Server,
  type ServerResponse,
} from 'node:http'
import type { AddressInfo } from 'node:net'

/** Answers what is its own and says so; false leaves the request to the next. */
export type Listener = (
  request: IncomingMessage,
  response: ServerResponse,
) => boolean | Promise<boolean>

export interface Listening {
  server: Server
  /** Such as http://127.0.0.1:4000. */
  address: string
  /** Answers what is under way, then closes. */
  stop(): Promise<void>
}

/**
 * Starts one server for all listeners, asked in their order. On a loopback address it answers only
 * requests that were addressed to one: a page of another site cannot reach it by a name of its own.
 * `failed` is told what a listener threw; `seen` is shown every request first, those turned away too.
 */
export async function listen(
  place: { host: string; port: number; names?: readonly string[] },
  listeners: readonly Listener[],
  failed: (error: unknown) => void,
  seen: (request: IncomingMessage, response: ServerResponse) => unknown = () => undefined,
): Promise<Listening> {
  const server = createServer(
    // Times in ms: the whole request, its head, and rest between two.
    {
      requestTimeout: 10_000,
      headersTimeout: 5_000,
      keepAliveTimeout: 5_000,
      maxHeaderSize: 8_192,
    },
    (request, response) => {
      void answer(request, response).catch((error) => {
        failed(error)
        if (response.headersSent) response.destroy()
        else sendProblem(response, 500, 'INTERNAL', 'Something broke on our side.')
      })
    },
  )
  let names: ReadonlySet<string> = new Set()
  const isOpen = !['::1', ...LOOPBACK].includes(place.host)

  function isOwn({ headers: { host = '', origin } }: IncomingMessage): boolean {
    return names.has(host) && (origin === undefined || names.has(hostOf(origin)))
  }

  async function answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    seen(request, response)
    for (const [name, value] of Object.entries(SAFETY)) response.setHeader(name, value)
    if (!isOwn(request) && !(isOpen && STATE.has(addressOf(request).path)))
      return sendProblem(response, 403, 'FORBIDDEN', 'This house is asked by another name.')
    for (const listener of listeners) if (await listener(request, response)) return
    sendProblem(response, 404, 'NOT_FOUND', 'There is nothing at this address.')
  }

  await new Promise<void>((resolve, reject) => {
    server.once('error', reject)
    server.listen(place.port, place.host, resolve)
  })
  const { port } = server.address() as AddressInfo
  names = new Set(
    [...(place.names ?? []), ...LOOPBACK, place.host].flatMap((name) => [name, `${name}:${port}`]),
  )
  return {
    server,
    address: `http://${place.host.includes(':') ? `[${place.host}]` : place.host}:${port}`,
    stop: () => {
      const closed = new Promise<void>((resolve, reject) => {
        server.close((error) => (error ? reject(error) : resolve()))
      })
      server.closeIdleConnections()
      return closed
    },
  }
}

/** What a request is addressed to; `search` with its ?, or empty. */
export function addressOf({ url = '/' }: IncomingMessage): { path: string; search: string } {
  const at = url.indexOf('?')
  return at < 0 ? { path: url, search: '' } : { path: url.slice(0, at), search: url.slice(at) }
}

/** The body as bytes; undefined when it is larger than `most`, and then the rest is not read. */
export async function readBody(
  request: IncomingMessage,
  most: number,
): Promise<Buffer | undefined> {
  if (Number(request.headers['content-length'] ?? 0) > most) return undefined
  const parts: Buffer[] = []
  let size = 0
  for await (const part of request as AsyncIterable<Buffer>) {
    size += part.length
    if (size > most) return undefined
    parts.push(part)
  }
  return Buffer.concat(parts)
}

/** Answers with an error as GraphQL over HTTP writes it. */
export function sendProblem(
  response: ServerResponse,
  status: number,
  code: string,
  message: string,
  headers: OutgoingHttpHeaders = {},
): void {
  const body = JSON.stringify({ errors: [{ message, extensions: { code } }] })
  response.writeHead(status, {
    'content-type': 'application/json; charset=utf-8',
    // What was not read of the request would be taken for the next one.
    ...(response.req.complete ? {} : { connection: 'close' }),
    ...headers,
  })
  response.end(body)
}

/** Whoever runs a process that is open to its network asks these by its number, not by a name. */
const STATE: ReadonlySet<string> = new Set(['/health', '/ready', '/metrics'])

const LOOPBACK = ['127.0.0.1', 'localhost', '[::1]']

const SAFETY = {
  'cache-control': 'no-store',
  'content-security-policy': "default-src 'none'; frame-ancestors 'none'",
  'cross-origin-resource-policy': 'same-origin',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
}

function hostOf(origin: string): string {
  return URL.canParse(origin) ? new URL(origin).host : ''
}
