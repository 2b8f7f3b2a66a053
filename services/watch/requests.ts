// Every request in the journal, with the trace it belongs to, and counted and timed.
import { randomBytes } from 'node:crypto'
import type { IncomingMessage, ServerResponse } from 'node:http'
import type { Journal } from './journal.ts'
import type { Measures } from './measures.ts'
import { traceOf } from './trace.ts'

/** What asks how the process is, again and again, is no news. */
const QUIET = new Set(['/health', '/ready', '/metrics'])
const KNOWN = ['/events', '/report/', '/graphql', '/session', '/news']

/** Shown every request before it is answered. */
export function requestListener(
  journal: Journal,
  measures: Measures,
): (request: IncomingMessage, response: ServerResponse) => void {
  const took = measures.durations(
    'heat_to_pan_request_seconds',
    'How long requests took, by address and status.',
  )
  return (request, response) => {
    const path = request.url?.split('?')[0] ?? '/'
    if (QUIET.has(path)) return
    const began = performance.now()
    response.once('close', () => {
      const { method = '' } = request
      const status = response.writableFinished ? response.statusCode : 499
      const seconds = (performance.now() - began) / 1_000
      const known = KNOWN.find((each) => path.startsWith(each)) ?? 'other'
      took({ path: known, status: String(status) }, seconds)
      const trace = traceOf(request.headers.traceparent)
      journal.note(`${method} ${path} ${status}`, {
        ...{ method, path, status, seconds: Number(seconds.toFixed(4)) },
        trace_id: trace?.traceId ?? randomBytes(16).toString('hex'),
        span_id: randomBytes(8).toString('hex'),
        parent_span_id: trace?.parentId,
      })
    })
  }
}
