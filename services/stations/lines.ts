// A stream of bytes cut into lines without ever holding more than one line's worth: a line that is too
// long is passed over to its end and counted.

export interface Line {
  /** From 1. */
  number: number
  length: number
  /** Absent when the line is longer than asked for. */
  bytes?: Buffer
}

const NEWLINE = 0x0a
const SPACE = 0x20

/** The lines that hold more than white space, batch by batch as they arrive. */
export async function* linesOf(
  stream: AsyncIterable<Buffer>,
  mostBytes: number,
): AsyncGenerator<Line[]> {
  let number = 1
  let length = 0
  let parts: Buffer[] = []

  const keep = (part: Buffer) => {
    length += part.length
    if (length <= mostBytes) parts.push(part)
    else parts = []
  }
  const finish = (): Line[] => {
    const line: Line = { number: number++, length }
    const bytes = Buffer.concat(parts)
    const tooLong = length > mostBytes
    length = 0
    parts = []
    if (tooLong) return [line]
    return bytes.every((byte) => byte <= SPACE) ? [] : [{ ...line, bytes }]
  }

  for await (const chunk of stream) {
    const lines: Line[] = []
    let at = 0
    for (let end = chunk.indexOf(NEWLINE); end >= 0; end = chunk.indexOf(NEWLINE, at)) {
      keep(chunk.subarray(at, end))
      lines.push(...finish())
      at = end + 1
    }
    keep(chunk.subarray(at))
    yield lines
  }
  yield finish()
}
