// Bodies packed for the way, by what the reader can unpack. An answer holds no secret of its session, and
// the cookie does not go with requests from elsewhere: its packed length tells a stranger nothing.
import type { IncomingMessage } from 'node:http'
import { promisify } from 'node:util'
import { brotliCompress, constants, gzip } from 'node:zlib'

export type Packing = 'br' | 'gzip'

/** What fits into one packet is sent as it is. Unit: bytes. */
const WORTH_PACKING = 1_400

const [toBrotli, toGzip] = [promisify(brotliCompress), promisify(gzip)]

/** The best that the sender of a request can unpack; undefined where it takes bytes only as they are. */
export function packingFor({ headers }: Pick<IncomingMessage, 'headers'>): Packing | undefined {
  const accepted = new Set<string>()
  for (const each of String(headers['accept-encoding'] ?? '').split(',')) {
    const [name, ...parameters] = each.split(';').map((part) => part.trim().toLowerCase())
    if (!parameters.some((parameter) => /^q=0(\.0*)?$/.test(parameter))) accepted.add(name!)
  }
  return (['br', 'gzip'] as const).find((packing) => accepted.has(packing))
}

/** Packed at the pace of an answer, or as thoroughly as what is packed once; not on the thread that answers. */
export function pack(body: Buffer, packing: Packing, pace: 'answer' | 'once'): Promise<Buffer> {
  if (packing === 'gzip') return toGzip(body, { level: pace === 'once' ? 9 : 6 })
  return toBrotli(body, { params: { [constants.BROTLI_PARAM_QUALITY]: pace === 'once' ? 9 : 4 } })
}

export function isWorthPacking(body: Buffer): boolean {
  return body.length > WORTH_PACKING
}
