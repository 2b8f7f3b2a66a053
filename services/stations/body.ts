import type { IncomingMessage } from 'node:http'
import { RequestFault } from './answer.ts'

/** Of all bodies being read or worked on at once. */
const MOST_BYTES_IN_HAND = 64 * 1024 * 1024

/** Reads bodies, and says no before they use up the memory. How long one may take the server decides. */
export class BodyReader {
  #bytesInHand = 0

  /**
   * Gives the body to `use`. Throws RequestFault: 400 when there is none, 413 when it has more than
   * `most` bytes, 415 when it is packed, 429 when too much is in hand already.
   */
  async read<T>(
    request: IncomingMessage,
    most: number,
    use: (body: Buffer) => Promise<T>,
  ): Promise<T> {
    const { 'content-encoding': encoding = 'identity', 'content-length': length } = request.headers
    if (encoding !== 'identity') throw new RequestFault(415, 'Send the body as it is, not packed.')
    if (Number(length ?? 0) > most) throw tooLarge(most)
    // A body that does not say its length is taken to be the largest.
    const reserved = length === undefined ? most : Number(length)
    if (this.#bytesInHand + reserved > MOST_BYTES_IN_HAND) throw busy()
    this.#bytesInHand += reserved
    try {
      return await use(await readAll(request, most))
    } finally {
      this.#bytesInHand -= reserved
    }
  }
}

async function readAll(request: IncomingMessage, most: number): Promise<Buffer> {
  const parts: Buffer[] = []
  let size = 0
  for await (const part of request as AsyncIterable<Buffer>) {
    size += part.length
    if (size > most) throw tooLarge(most)
    parts.push(part)
  }
  if (size === 0) throw new RequestFault(400, 'The body is empty: there is nothing to take in.')
  return Buffer.concat(parts)
}

function tooLarge(most: number): RequestFault {
  return new RequestFault(413, `Such a body may have ${most} bytes. Send it in several parts.`)
}

function busy(): RequestFault {
  const sentence = 'Too much is being taken in just now. Send it again in a second.'
  return new RequestFault(429, sentence, { 'retry-after': '1' })
}
