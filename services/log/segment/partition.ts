// One partition: a folder of segment files, one writer, any number of readers. What readers see is
// what is known to be on disk.

import type { FileHandle } from 'node:fs/promises'
import { mkdir, open, readdir } from 'node:fs/promises'
import type { Entry, LogRecord } from '../log.ts'
import { LogError } from '../log-error.ts'
import { assertFits, encodeFrames } from './frame.ts'
import type { OpenFile, TornEnd } from './segment-file.ts'
import { SegmentFile } from './segment-file.ts'

/** Where a partition ended when it was last closed: so much of that file was on disk. */
export interface End {
  base: string
  bytes: number
}

export interface PartitionOptions {
  topic: string
  partition: number
  folder: string
  /** Absent when it was never closed. */
  lastEnd: End | undefined
  segmentBytes: number
  openFile: OpenFile
  /** Called after every append, when its records can be read. */
  appended: () => void
  /** Called once, when the disk refused. */
  failed: (reason: LogError) => void
}

interface Waiting {
  entries: readonly Entry[]
  done: (first: bigint) => void
  failed: (reason: unknown) => void
}

/** What is grouped into one write and one sync. */
const GROUP_BYTES = 1024 * 1024
/** What one read brings into memory, unless a single record is larger. */
const READ_BYTES = 4 * 1024 * 1024
/** Finished files of which it is known where their records begin; of the others only that they are there. */
const INDEXED_FILES = 4

export class Partition {
  readonly topic: string
  readonly partition: number
  #options: PartitionOptions
  #segments: SegmentFile[]
  /** Finished files that were written or read last, the newest behind. */
  #indexed: SegmentFile[] = []
  #file: FileHandle
  #waiting: Waiting[] = []
  #writing: Promise<void> | undefined
  #refusal: LogError | undefined

  private constructor(options: PartitionOptions, segments: SegmentFile[], file: FileHandle) {
    this.topic = options.topic
    this.partition = options.partition
    this.#options = options
    this.#segments = segments
    this.#file = file
  }

  /** Opens or makes the folder; the last file is read through, the others when they are needed. */
  static async open(
    options: PartitionOptions,
  ): Promise<{ partition: Partition; torn: TornEnd | undefined }> {
    await mkdir(options.folder, { recursive: true })
    const bases = (await readdir(options.folder))
      .map(SegmentFile.baseOf)
      .filter((base) => base !== undefined)
      .sort((a, b) => (a < b ? -1 : 1))
    const segments = bases.map((base) => new SegmentFile(options.folder, base))
    const last = segments.at(-1)
    const { lastEnd } = options
    if (lastEnd && !(last && last.base >= BigInt(lastEnd.base))) throw missing(options.folder)
    if (!last) {
      const { segment, file } = await newSegment(options, 0n)
      return { partition: new Partition(options, [segment], file), torn: undefined }
    }
    const file = await options.openFile(last.path, 'r+')
    try {
      const promised = lastEnd && BigInt(lastEnd.base) === last.base ? lastEnd.bytes : 0
      const torn = await last.recover(file, promised)
      return { partition: new Partition(options, segments, file), torn }
    } catch (error) {
      await file.close()
      throw error
    }
  }

  get first(): bigint {
    return this.#segments[0]!.base
  }

  get next(): bigint {
    const last = this.#segments.at(-1)!
    return last.base + BigInt(last.count)
  }

  /** Resolves with the offset of the first entry when all are on disk. */
  append(entries: readonly Entry[]): Promise<bigint> {
    return new Promise((done, failed) => {
      if (this.#refusal) return failed(this.#refusal)
      for (const entry of entries) assertFits(entry)
      this.#waiting.push({ entries, done, failed })
      this.#writing ??= this.#writeAll()
    })
  }

  /** Up to `most` records from an offset on, fewer when they are large. */
  async read(from: bigint, most: number): Promise<LogRecord[]> {
    const { topic, partition } = this
    const { first, next } = this
    if (from < first || from > next)
      throw new LogError(
        'LOG_OUT_OF_RANGE',
        `${topic}/${partition} holds offsets ${first} to ${next - 1n}; ${from} is not among them.`,
      )
    if (from === next || most < 1) return []
    const i = this.#segments.findLastIndex(({ base }) => base <= from)
    const segment = this.#segments[i]!
    const after = this.#segments[i + 1]
    if (after) {
      await segment.index(Number(after.base - segment.base))
      this.#keepIndexed(segment)
    }
    const frames = await segment.read(Number(from - segment.base), most, READ_BYTES)
    return frames.map(({ key, value }, n) => ({
      topic,
      partition,
      offset: from + BigInt(n),
      key,
      value,
    }))
  }

  get end(): End {
    const { base, bytes } = this.#segments.at(-1)!
    return { base: String(base), bytes }
  }

  /** Takes nothing more in, for this reason, once what waits is written. */
  async close(reason: LogError): Promise<void> {
    this.#refusal ??= reason
    await this.#writing
    await this.#file.close()
  }

  /** Takes nothing more in from now on. */
  refuse(reason: LogError): void {
    this.#refusal ??= reason
  }

  async #writeAll(): Promise<void> {
    // Appends of the same turn share the first sync too.
    await undefined
    while (this.#waiting.length > 0) {
      const group = this.#nextGroup()
      try {
        const first = await this.#write(group.flatMap(({ entries }) => entries))
        let offset = first
        for (const { entries, done } of group) {
          done(offset)
          offset += BigInt(entries.length)
        }
        this.#options.appended()
      } catch (error) {
        await this.#fail(error, group)
      }
    }
    this.#writing = undefined
  }

  #nextGroup(): Waiting[] {
    let bytes = 0
    const more = this.#waiting.findIndex(({ entries }) => {
      const full = bytes >= GROUP_BYTES
      for (const { value } of entries) bytes += value.length
      return full
    })
    return this.#waiting.splice(0, more < 0 ? this.#waiting.length : more)
  }

  /** One write, one sync, and only then counted in. */
  async #write(entries: readonly Entry[]): Promise<bigint> {
    if (this.#refusal?.code === 'LOG_FAILED') throw this.#refusal
    let segment = this.#segments.at(-1)!
    if (segment.bytes >= this.#options.segmentBytes) segment = await this.#roll()
    const first = this.next
    const bytes = encodeFrames(entries, segment.bytes)
    for (let done = 0; done < bytes.length; ) {
      const at = segment.bytes + done
      done += (await this.#file.write(bytes, done, bytes.length - done, at)).bytesWritten
    }
    await this.#file.datasync()
    segment.grow(entries.length, bytes.length)
    return first
  }

  #keepIndexed(segment: SegmentFile): void {
    const others = this.#indexed.filter((each) => each !== segment)
    this.#indexed = [...others, segment]
    if (this.#indexed.length > INDEXED_FILES) this.#indexed.shift()!.forget()
  }

  async #roll(): Promise<SegmentFile> {
    await this.#file.close()
    const finished = this.#segments.at(-1)!
    const { segment, file } = await newSegment(this.#options, this.next)
    this.#file = file
    this.#segments.push(segment)
    this.#keepIndexed(finished)
    return segment
  }

  /**
   * The disk refused. A second sync of the same file may report success for pages the system has
   * already dropped, so there is none: what was not promised is cut off again as far as the disk lets
   * us, and nothing more is taken in until the log is opened anew.
   */
  async #fail(error: unknown, group: readonly Waiting[]): Promise<void> {
    const segment = this.#segments.at(-1)!
    const reason =
      error instanceof LogError
        ? error
        : new LogError(
            'LOG_FAILED',
            `The log could not write ${segment.path}: ${(error as Error).message}. Nothing more is taken in: free the disk or mend it, then start again.`,
            { cause: error },
          )
    this.#refusal = reason
    this.#options.failed(reason)
    await this.#file.truncate(segment.bytes).catch(() => undefined)
    for (const { failed } of [...group, ...this.#waiting.splice(0)]) failed(reason)
  }
}

function missing(folder: string): LogError {
  return new LogError(
    'LOG_CORRUPT',
    `${folder} lacks files that were there when the log was last closed. Nothing was changed: put them back, or ask for help before going on.`,
  )
}

async function newSegment(
  options: PartitionOptions,
  base: bigint,
): Promise<{ segment: SegmentFile; file: FileHandle }> {
  const segment = new SegmentFile(options.folder, base)
  const file = await options.openFile(segment.path, 'wx+')
  await syncFolder(options.folder)
  return { segment, file }
}

/** Makes the names of new files survive a power cut. Windows keeps them by itself and cannot sync a folder. */
export async function syncFolder(folder: string): Promise<void> {
  if (process.platform === 'win32') return
  await using handle = await open(folder, 'r')
  await handle.sync()
}
