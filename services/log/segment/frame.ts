// How one record stands in a segment file, numbers little-endian:
//
//   mark 4 B       FF 68 32 70: begins with a byte that no UTF-8 text holds, so no event looks like a frame
//   crc 4 B        CRC-32 as in zlib (polynomial 04C11DB7, reflected) of all that follows
//   length 4 B     of the payload
//   durable 4 B    how much of this file was known to be on disk when the frame was written
//   payload        key length 2 B, key in UTF-8, value
//
// `durable` tells a torn end from rot: what is broken before a later frame's `durable` had been
// promised to somebody, what is broken behind it had not.
import { crc32 } from 'node:zlib'
import type { Entry } from '../log.ts'
import { LogError } from '../log-error.ts'

/** Of key and value together. */
const MOST_RECORD_BYTES = 16 * 1024 * 1024
const HEAD_BYTES = 16

const MARK = Buffer.from([0xff, 0x68, 0x32, 0x70])
const CHECKED_FROM = 8

export interface Frame {
  key: string
  value: Uint8Array
  durable: number
  /** Where the next frame begins. */
  end: number
}

/** The frames of one write, to stand at byte `durable` of a file. */
export function encodeFrames(entries: readonly Entry[], durable: number): Buffer {
  const keys = entries.map(({ key }) => Buffer.from(key))
  const size = entries.reduce((sum, entry, i) => sum + frameBytes(keys[i]!, entry.value), 0)
  const frames = Buffer.allocUnsafe(size)
  let at = 0
  for (const [i, { value }] of entries.entries()) {
    const key = keys[i]!
    const end = at + frameBytes(key, value)
    frames.set(MARK, at)
    frames.writeUInt32LE(end - at - HEAD_BYTES, at + 8)
    frames.writeUInt32LE(durable, at + 12)
    frames.writeUInt16LE(key.length, at + HEAD_BYTES)
    frames.set(key, at + HEAD_BYTES + 2)
    frames.set(value, at + HEAD_BYTES + 2 + key.length)
    frames.writeUInt32LE(crc32(frames.subarray(at + CHECKED_FROM, end)), at + 4)
    at = end
  }
  return frames
}

/** Throws LOG_TOO_LARGE when a record cannot be framed. */
export function assertFits({ key, value }: Entry): void {
  const keyBytes = Buffer.byteLength(key)
  if (keyBytes <= 0xffff && keyBytes + value.length <= MOST_RECORD_BYTES) return
  throw new LogError(
    'LOG_TOO_LARGE',
    `A record of ${keyBytes + value.length} bytes does not fit: a key may have 65535 bytes, key and value together ${MOST_RECORD_BYTES}.`,
  )
}

/**
 * The frame that begins at `at`: 'short' when the bytes end before it does, 'bad' when what stands
 * there is not a whole frame.
 */
export function readFrame(bytes: Buffer, at: number): Frame | 'short' | 'bad' {
  if (at + HEAD_BYTES > bytes.length) return 'short'
  const length = bytes.readUInt32LE(at + 8)
  if (MARK.compare(bytes, at, at + MARK.length) !== 0) return 'bad'
  if (length < 2 || length > MOST_RECORD_BYTES + 2) return 'bad'
  const end = at + HEAD_BYTES + length
  if (end > bytes.length) return 'short'
  if (crc32(bytes.subarray(at + CHECKED_FROM, end)) !== bytes.readUInt32LE(at + 4)) return 'bad'
  const valueAt = at + HEAD_BYTES + 2 + bytes.readUInt16LE(at + HEAD_BYTES)
  return {
    key: bytes.toString('utf8', at + HEAD_BYTES + 2, valueAt),
    value: bytes.subarray(valueAt, end),
    durable: bytes.readUInt32LE(at + 12),
    end,
  }
}

/** The first whole frame that begins behind `at`, wherever it stands. */
export function findFrame(bytes: Buffer, at: number): Frame | undefined {
  for (let next = bytes.indexOf(MARK, at + 1); next >= 0; next = bytes.indexOf(MARK, next + 1)) {
    const frame = readFrame(bytes, next)
    if (typeof frame !== 'string') return frame
  }
  return undefined
}

const frameBytes = (key: Uint8Array, value: Uint8Array) =>
  HEAD_BYTES + 2 + key.length + value.length
