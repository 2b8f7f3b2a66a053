// The embedded log, and the spool of every door: a folder of segment files per topic and partition.
// A record is acknowledged when fdatasync has returned; concurrent appends share one. One process per
// folder: see folder-lock.ts.
import { mkdir, open } from 'node:fs/promises'
import { join } from 'node:path'
import { crc32 } from 'node:zlib'
import type { Entry, Following, Log, LogRecord, Place, Reader, Span } from '../log.ts'
import { LogError } from '../log-error.ts'
import { Follower } from './follow.ts'
import { assertFits } from './frame.ts'
import { Group } from './group.ts'
import { readNote, writeNote } from './note.ts'
import { type End, Partition, syncFolder } from './partition.ts'
import type { OpenFile, TornEnd } from './segment-file.ts'

export interface SegmentLogOptions {
  folder: string
  topics: readonly string[]
  /** Per topic; fixed when the folder is made, because a key must stay where it is. */
  partitions?: number
  segmentBytes?: number
  openFile?: OpenFile
}

export interface SegmentLog extends Log {
  /** Ends that a crash had left torn, and where the bytes cut off now lie. */
  readonly torn: readonly TornEnd[]
  /** Calls after every append, when its records can be read; answers how to make it stop. */
  watch(appended: () => void): () => void
}

const FORMAT = 1
const SHAPE = 'shape.json'
/** Where each partition ended when the log was last closed: tells rot at the end from a torn end. */
const ENDS = 'ends.json'
type Ends = Record<string, End>

const SEGMENT_BYTES = 16 * 1024 * 1024

/**
 * Which partition a key belongs to: CRC-32 (as in zlib) of its UTF-8 bytes, modulo the partitions.
 * Never to be changed: what one source said must stay in one partition, in its order.
 */
export function partitionOf(key: string, partitions: number): number {
  return crc32(key) % partitions
}

/** Opens or makes a log. Throws LOG_CORRUPT, or LOG_OTHER_SHAPE when made with other partitions. */
export async function openSegmentLog(options: SegmentLogOptions): Promise<SegmentLog> {
  const { folder, topics, partitions = 4 } = options
  await mkdir(folder, { recursive: true })
  await agreeOnShape(folder, partitions)
  const ends = (await readNote<Ends>(folder, ENDS)) ?? {}
  const log = new SegmentFolder(topics, partitions)
  try {
    for (const topic of topics)
      for (let partition = 0; partition < partitions; partition++)
        await log.add(options, topic, partition, ends[`${topic}/${partition}`])
    await syncFolders(folder, topics)
    log.opened(folder, ends)
  } catch (error) {
    await log.close()
    throw error
  }
  return log
}

class SegmentFolder implements SegmentLog {
  readonly topics: readonly string[]
  readonly torn: TornEnd[] = []
  readonly #partitions: number
  readonly #all: Partition[] = []
  readonly #byTopic = new Map<string, Partition[]>()
  readonly #groups = new Map<string, Group>()
  readonly #watchers = new Set<() => void>()
  /** Notes where the partitions end. */
  #note: () => Promise<void> = async () => undefined
  #closed = false

  constructor(topics: readonly string[], partitions: number) {
    this.topics = [...topics]
    this.#partitions = partitions
    for (const topic of topics) this.#byTopic.set(topic, [])
  }

  async add(
    options: SegmentLogOptions,
    topic: string,
    number: number,
    lastEnd: End | undefined,
  ): Promise<void> {
    const { partition, torn } = await Partition.open({
      topic,
      partition: number,
      folder: join(options.folder, topic, String(number)),
      lastEnd,
      segmentBytes: options.segmentBytes ?? SEGMENT_BYTES,
      openFile: options.openFile ?? open,
      appended: () => {
        for (const group of this.#groups.values()) group.wake()
        for (const appended of this.#watchers) appended()
      },
      failed: (reason) => {
        for (const each of this.#all) each.refuse(reason)
      },
    })
    this.#all.push(partition)
    this.#partitionsOf(topic).push(partition)
    if (torn) this.torn.push(torn)
  }

  /** Only a log that was opened whole notes where it ends: the note of one that was not is still needed. */
  opened(folder: string, before: Ends): void {
    this.#note = () => {
      const ends = this.#all.map(({ topic, partition, end }) => [`${topic}/${partition}`, end])
      return writeNote(folder, ENDS, { ...before, ...Object.fromEntries(ends) })
    }
  }

  async append(topic: string, entries: readonly Entry[]): Promise<Place[]> {
    const partitions = this.#partitionsOf(topic)
    entries.forEach(assertFits)
    const parts = Map.groupBy(entries.keys(), (i) => partitionOf(entries[i]!.key, this.#partitions))
    const places: Place[] = []
    const appended = [...parts].map(async ([partition, members]) => {
      const first = await partitions[partition]!.append(members.map((i) => entries[i]!))
      for (const [n, i] of members.entries())
        places[i] = { topic, partition, offset: first + BigInt(n) }
    })
    // All of them, so that nothing of a refused append is still under way when the caller hears of it.
    const outcomes = await Promise.allSettled(appended)
    for (const outcome of outcomes) if (outcome.status === 'rejected') throw outcome.reason
    return places
  }

  async read(topic: string, partition: number, from: bigint, most: number): Promise<LogRecord[]> {
    const found = this.#partitionsOf(topic)[partition]
    if (!found) throw new LogError('LOG_OUT_OF_RANGE', `${topic} has no partition ${partition}.`)
    return found.read(from, most)
  }

  async spans(): Promise<Span[]> {
    return this.#all.map(({ topic, partition, first, next }) => ({ topic, partition, first, next }))
  }

  async follow(reader: Reader): Promise<Following> {
    if (this.#closed) throw closed()
    const group = this.#groups.get(reader.group) ?? new Group(this.#all)
    this.#groups.set(reader.group, group)
    return new Follower(group, reader)
  }

  watch(appended: () => void): () => void {
    this.#watchers.add(appended)
    return () => this.#watchers.delete(appended)
  }

  async close(): Promise<void> {
    this.#closed = true
    await Promise.all([...this.#groups.values()].map((group) => group.stop()))
    await Promise.all(this.#all.map((partition) => partition.close(closed())))
    // A help for the next opening, not worth failing for on a full disk.
    await this.#note().catch(() => undefined)
  }

  #partitionsOf(topic: string): Partition[] {
    const partitions = this.#byTopic.get(topic)
    if (partitions) return partitions
    throw new LogError(
      'LOG_UNKNOWN_TOPIC',
      `${topic} is not a topic of this log, which has ${this.topics.join(', ')}.`,
    )
  }
}

/** Writes down how the folder is divided, or sees that it is divided as asked. */
async function agreeOnShape(folder: string, partitions: number): Promise<void> {
  const shape = await readNote<{ format: number; partitions: number }>(folder, SHAPE)
  if (!shape) return writeNote(folder, SHAPE, { format: FORMAT, partitions })
  if (shape.format === FORMAT && shape.partitions === partitions) return
  throw new LogError(
    'LOG_OTHER_SHAPE',
    `${folder} was made with ${shape.partitions} partitions per topic in format ${shape.format}, and is opened with ${partitions} in format ${FORMAT}. Keep the number it was made with, or start a new folder.`,
  )
}

async function syncFolders(folder: string, topics: readonly string[]): Promise<void> {
  for (const topic of topics) await syncFolder(join(folder, topic))
  await syncFolder(folder)
}

const closed = () => new LogError('LOG_CLOSED', 'The log is closed.')
