import { type IncomingMessage, type ServerResponse, STATUS_CODES } from 'node:http'
import type { Receipt } from './door.ts'

/** A fault of the request as a whole, thrown where it is found and answered as RFC 9457 has it. */
export class RequestFault extends Error {
  readonly status: number
  readonly headers: Readonly<Record<string, string>>

  constructor(status: number, detail: string, headers: Readonly<Record<string, string>> = {}) {
    super(detail)
    this.name = 'RequestFault'
    this.status = status
    this.headers = headers
  }
}

export function answerFault(
  request: IncomingMessage,
  response: ServerResponse,
  { status, message, headers }: RequestFault,
): void {
  // What was not read of the body would be taken for the next request.
  const rest = request.complete ? {} : { connection: 'close' }
  const problem = { type: 'about:blank', title: STATUS_CODES[status], status, detail: message }
  send(response, status, 'application/problem+json', problem, { ...rest, ...headers })
}

/**
 * The result of every event in the order they came. 202 when all went in, 200 when all were in
 * already, 422 when all were refused, 207 when some were and some were not. `lines` are their numbers,
 * where they came as lines.
 */
export function answerReceipts(
  response: ServerResponse,
  receipts: readonly Receipt[],
  lines: readonly number[] = [],
): void {
  const count = { accepted: 0, duplicate: 0, refused: 0 }
  for (const { outcome } of receipts) count[outcome]++
  const results = receipts.map((receipt, i) => ({ line: lines[i], ...told(receipt) }))
  send(response, statusOf(count), 'application/json', { ...count, results })
}

/** A receipt as it goes out; places in the log are the house's own business. */
function told({ place, recorded, ...receipt }: Receipt): object {
  return recorded === undefined
    ? receipt
    : { ...receipt, recordedtime: new Date(recorded).toISOString() }
}

function statusOf({ accepted, duplicate, refused }: Record<Receipt['outcome'], number>): number {
  if (refused > 0) return accepted + duplicate > 0 ? 207 : 422
  return accepted > 0 ? 202 : 200
}

function send(
  response: ServerResponse,
  status: number,
  type: string,
  body: object,
  headers: Readonly<Record<string, string>> = {},
): void {
  const bytes = Buffer.from(JSON.stringify(body) + '\n')
  response.writeHead(status, { 'content-type': type, 'content-length': bytes.length, ...headers })
  response.end(response.req.method === 'HEAD' ? undefined : bytes)
}
