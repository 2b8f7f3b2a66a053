// How a process is: GET /health, whether only a new start would help; GET /ready, whether it can do its
// work just now, and why not; GET /metrics, for Prometheus.
import type { IncomingMessage, ServerResponse } from 'node:http'
import type { Measures } from './measures.ts'

/** What is asked of each service of a process. */
export interface Watched {
  /** Why it cannot do its work now; empty when it can. */
  troubles(): readonly string[]
  /** What is not as it should be and keeps nobody from working. */
  notes?(): readonly string[]
  /** What waiting does not cure. */
  broken?(): string | undefined
}

/** Answers what is its own and says so. */
export function stateListener(
  watched: readonly Watched[],
  measures: Measures,
): (request: IncomingMessage, response: ServerResponse) => boolean | Promise<boolean> {
  return (request, response) => {
    const path = request.url?.split('?')[0]
    if (path !== '/health' && path !== '/ready' && path !== '/metrics') return false
    if (request.method !== 'GET' && request.method !== 'HEAD') {
      response.writeHead(405, { allow: 'GET, HEAD' }).end()
      return true
    }
    if (path === '/metrics') return tellMeasures(measures, response)
    const notes = watched.flatMap((each) => each.notes?.() ?? [])
    const reasons = watched.flatMap((each) =>
      path === '/health' ? (each.broken?.() ?? []) : each.troubles(),
    )
    const [well, unwell] = path === '/health' ? ['up', 'broken'] : ['ready', 'not ready']
    const state = {
      status: reasons.length > 0 ? unwell : well,
      ...(reasons.length > 0 && { reasons }),
      ...(path === '/ready' && notes.length > 0 && { notes }),
    }
    send(response, reasons.length > 0 ? 503 : 200, 'application/json', JSON.stringify(state) + '\n')
    return true
  }
}

async function tellMeasures(measures: Measures, response: ServerResponse): Promise<true> {
  send(response, 200, 'text/plain; version=0.0.4; charset=utf-8', await measures.text())
  return true
}

function send(response: ServerResponse, status: number, type: string, text: string): void {
  response.writeHead(status, { 'content-type': type, 'content-length': Buffer.byteLength(text) })
  response.end(response.req.method === 'HEAD' ? undefined : text)
}
