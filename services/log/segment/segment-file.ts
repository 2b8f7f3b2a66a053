// One file of records that stand one behind the other. Its name is the offset of its first record.

import type { FileHandle } from 'node:fs/promises'
import { appendFile, open } from 'node:fs/promises'
import { join } from 'node:path'
import { LogError } from '../log-error.ts'
import type { Frame } from './frame.ts'
import { findFrame, readFrame } from './frame.ts'

/** How files are opened; a test gives one that fails like a full disk. */
export type OpenFile = (path: string, flags: string) => Promise<FileHandle>

/** What was found torn behind the last whole record, cut off and laid aside. */
export interface TornEnd {
  path: string
  at: number
  bytes: number
  /** Where the bytes now lie. */
  keptIn: string
}

const CHUNK_BYTES = 256 * 1024
const INDEX_EVERY_BYTES = 64 * 1024
const NAME = /^(\d{20})\.log$/

export class SegmentFile {
  readonly path: string
  readonly base: bigint
  /** Of whole records known to be on disk. */
  bytes = 0
  count = 0
  #indexing: Promise<void> | undefined
  /** Sparse index: every so many bytes, which record begins where. */
  #marks = [{ record: 0, at: 0 }]

  constructor(folder: string, base: bigint) {
    this.path = join(folder, `${String(base).padStart(20, '0')}.log`)
    this.base = base
  }

  static baseOf(name: string): bigint | undefined {
    const digits = NAME.exec(name)?.[1]
    return digits === undefined ? undefined : BigInt(digits)
  }

  /** Counts in what was written at the end and is on disk. */
  grow(records: number, bytes: number): void {
    if (this.bytes - this.#marks.at(-1)!.at >= INDEX_EVERY_BYTES)
      this.#marks.push({ record: this.count, at: this.bytes })
    this.count += records
    this.bytes += bytes
  }

  /**
   * Reads the last file of a partition, which a crash may have left with a torn end: cuts that off,
   * lays it aside and reports it. Throws LOG_CORRUPT when the break lies before something promised:
   * before the first `promisedBytes`, or before what a later record says was on disk.
   */
  async recover(file: FileHandle, promisedBytes: number): Promise<TornEnd | undefined> {
    const { size } = await file.stat()
    await this.#scan(file, size)
    if (this.bytes < promisedBytes) throw this.#rot(this.bytes)
    if (this.bytes < size) return this.#cut(file, size)
    // What a killed process wrote may still be in memory only; readers must not be ahead of the disk.
    await file.datasync()
    return undefined
  }

  /** Reads a finished file through before its records are looked up; `count` is what it must hold. */
  async index(count: number): Promise<void> {
    if (this.count === count) return
    this.#indexing ??= this.#scanFinished(count).finally(() => {
      this.#indexing = undefined
    })
    await this.#indexing
  }

  /** Lets go of what is known of a finished file, until it is read through again. */
  forget(): void {
    if (this.#indexing !== undefined) return
    this.count = 0
    this.#marks = [{ record: 0, at: 0 }]
  }

  /** Up to `most` records and about `mostBytes` of them, from the `record`-th of this file on. */
  async read(record: number, most: number, mostBytes: number): Promise<Frame[]> {
    const frames: Frame[] = []
    const end = this.bytes
    const mark = this.#marks.findLast((each) => each.record <= record)!
    let next = mark.record
    let bytes = 0
    await using file = await open(this.path, 'r')
    const stopped = await walk(file, mark.at, end, (frame, frameFrom, frameTo) => {
      if (next++ < record) return true
      frames.push(frame)
      bytes += frameTo - frameFrom
      return frames.length < most && bytes < mostBytes
    })
    if (stopped.broken) throw this.#rot(stopped.at)
    return frames
  }

  async #scanFinished(count: number): Promise<void> {
    await using file = await open(this.path, 'r')
    const { size } = await file.stat()
    await this.#scan(file, size)
    if (this.bytes < size) throw this.#rot(this.bytes)
    if (this.count === count) return
    throw new LogError(
      'LOG_CORRUPT',
      `${this.path} holds ${this.count} records and should hold ${count}. ${WAY_OUT}`,
    )
  }

  async #scan(file: FileHandle, size: number): Promise<void> {
    this.bytes = 0
    this.count = 0
    this.#marks = [{ record: 0, at: 0 }]
    await walk(file, 0, size, (_, from, to) => {
      this.grow(1, to - from)
      return true
    })
  }

  async #cut(file: FileHandle, size: number): Promise<TornEnd> {
    const rest = Buffer.allocUnsafe(size - this.bytes)
    await readWhole(file, rest, this.bytes)
    const later = findFrame(rest, 0)
    if (later && later.durable > this.bytes) throw this.#rot(this.bytes)
    const keptIn = `${this.path}.torn`
    await appendFile(keptIn, rest)
    await file.truncate(this.bytes)
    await file.sync()
    return { path: this.path, at: this.bytes, bytes: rest.length, keptIn }
  }

  #rot(at: number): LogError {
    return new LogError(
      'LOG_CORRUPT',
      `${this.path} is damaged at byte ${at}, before records that were safely written. ${WAY_OUT}`,
    )
  }
}

const WAY_OUT =
  'Nothing was skipped: put the file back from a copy, or ask for help before going on.'

/**
 * Shows every frame between two places of a file until `visit` says false. Answers where it stopped,
 * `broken` when that was not at the end nor by wish.
 */
async function walk(
  file: FileHandle,
  from: number,
  to: number,
  visit: (frame: Frame, at: number, end: number) => boolean,
): Promise<{ at: number; broken: boolean }> {
  let base = from
  let bytes = Buffer.alloc(0)
  let at = 0
  let chunk = CHUNK_BYTES
  for (;;) {
    const frame = readFrame(bytes, at)
    if (typeof frame !== 'string') {
      const end = base + frame.end
      const more = visit(frame, base + at, end)
      at = frame.end
      if (!more) return { at: end, broken: false }
      continue
    }
    const read = base + bytes.length
    if (frame === 'bad' || read >= to) return { at: base + at, broken: base + at < to }
    // A record longer than the chunk: take twice as much.
    chunk = at === 0 && bytes.length > 0 ? chunk * 2 : CHUNK_BYTES
    const next = Buffer.allocUnsafe(bytes.length - at + Math.min(chunk, to - read))
    bytes.copy(next, 0, at)
    await readWhole(file, next.subarray(bytes.length - at), read)
    base += at
    at = 0
    bytes = next
  }
}

async function readWhole(file: FileHandle, into: Uint8Array, at: number): Promise<void> {
  for (let done = 0; done < into.length; ) {
    const { bytesRead } = await file.read(into, done, into.length - done, at + done)
    // The file is shorter than it was: what is missing stays unread and fails its check.
    if (bytesRead === 0) return void into.fill(0, done)
    done += bytesRead
  }
}
