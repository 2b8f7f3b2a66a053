// How far each partition of a spool has gone on to another log: one small file beside the records,
// there whole or not at all.
import { hash } from 'node:crypto'
import type { LogRecord, PartitionName, Span } from '../log.ts'
import { readNote, writeNote } from './note.ts'

const FILE = 'forwarded.json'

interface Note {
  /** Which log they went to, where it has a name. */
  to?: string
  marks: Record<string, Mark>
}

interface Mark {
  next: string
  /** Of the record before `next`: tells a spool that was put back or exchanged. */
  last: string
}

type Spool = {
  read(topic: string, partition: number, from: bigint, most: number): Promise<LogRecord[]>
}

export class Cursor {
  /** The log everything has gone to so far; undefined when none had a name. */
  to: string | undefined
  readonly #folder: string
  readonly #marks: Map<string, Mark>
  #writing: Promise<unknown> = Promise.resolve()
  #due: Promise<void> | undefined

  private constructor(folder: string, { to, marks }: Note) {
    this.to = to
    this.#folder = folder
    this.#marks = new Map(Object.entries(marks))
  }

  static async open(folder: string): Promise<Cursor> {
    return new Cursor(folder, (await readNote<Note>(folder, FILE)) ?? { marks: {} })
  }

  /**
   * Where a partition goes on; its first offset when the record gone last is not the one the spool
   * has in that place, because sending twice does no harm and leaving out does.
   */
  async nextOf(span: Span, spool: Spool): Promise<bigint> {
    const mark = this.#marks.get(nameOf(span))
    const next = BigInt(mark?.next ?? 0)
    if (!mark || next <= span.first || next > span.next) return span.first
    const [last] = await spool.read(span.topic, span.partition, next - 1n, 1)
    return last && hashOf(last) === mark.last ? next : span.first
  }

  /** Resolves when it is on disk that everything up to this record has gone on. */
  move(last: LogRecord): Promise<void> {
    this.#marks.set(nameOf(last), { next: String(last.offset + 1n), last: hashOf(last) })
    // Those who come while it is being written share the next writing.
    this.#due ??= this.#writing.then(() => {
      this.#due = undefined
      const note = { ...(this.to !== undefined && { to: this.to }), marks: this.#noted() }
      const writing = writeNote(this.#folder, FILE, note)
      this.#writing = writing.catch(() => undefined)
      return writing
    })
    return this.#due
  }

  /** Another log: nothing has gone there yet. */
  begin(to: string | undefined): void {
    this.to = to
    this.#marks.clear()
  }

  #noted(): Record<string, Mark> {
    return Object.fromEntries(this.#marks)
  }
}

export function nameOf({ topic, partition }: PartitionName): string {
  return `${topic}/${partition}`
}

function hashOf({ key, value }: LogRecord): string {
  return hash('sha256', Buffer.concat([Buffer.from(`${key}\n`), value]), 'hex')
}
