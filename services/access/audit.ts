// Who asked and said what, line by line in a file of the day. Each line holds the hash of the one before:
// whoever changes, drops or moves one has to write all that follow anew, and the last hash of each day is
// in the journal, which is kept elsewhere.
import { createHash } from 'node:crypto'
import { createWriteStream, type WriteStream } from 'node:fs'
import { mkdir } from 'node:fs/promises'
import { basename, join } from 'node:path'

/** What somebody did. */
export interface Deed {
  subject: string
  roles: Iterable<string>
  /** A question, with its name where it has one, or reports. */
  what: string
  /** SHA-256 of the document or the body, in hex; absent where none was read. */
  hash?: string | undefined
  /** Rows told, or events taken in. */
  rows: number
  /** Such as answered, refused: TOO_MUCH, or 12 accepted. */
  decision: string
  seconds: number
}

export interface Audit {
  note(deed: Deed): void
  /** Resolves when all is written. */
  close(): Promise<void>
}

/** A line as it is written; `n` counts from 1 in its file. */
export interface AuditLine extends Omit<Deed, 'roles'> {
  n: number
  at: string
  roles: string[]
  /** Hash of the line before it; of the name of the file, in its first one. */
  before: string
}

export interface AuditOptions {
  folder: string
  /** Names the process among those that write here. */
  service: string
  /** Unit: ms. */
  now(): number
  tell(sentence: string): void
  /** Told that nothing can be written. */
  failed(error: unknown): void
}

interface Day {
  date: string
  file: string
  stream: WriteStream
  n: number
  hash: string
}

/** Longest word of a caller that is kept. */
const LONGEST = 200

/** Starts a file of its own: one that a crash left unfinished is not gone on with. */
export async function openAudit(options: AuditOptions): Promise<Audit> {
  const { folder, service, now, tell, failed } = options
  await mkdir(folder, { recursive: true, mode: 0o700 })
  const started = now().toString(36)
  let day: Day | undefined
  function today(): Day {
    const date = new Date(now()).toISOString().slice(0, 10)
    if (day?.date === date) return day
    if (day) end(day)
    const file = join(folder, `${date}.${service}.${started}.ndjson`)
    const stream = createWriteStream(file, { flags: 'a', mode: 0o600 }).on('error', failed)
    day = { date, file, stream, n: 0, hash: hashOf(basename(file)) }
    return day
  }
  function end({ stream, file, n, hash }: Day): void {
    stream.end()
    tell(`${basename(file)} ends with line ${n}, hash ${hash}.`)
  }
  return {
    note({ roles, what, decision, ...deed }) {
      const to = today()
      to.n++
      const line = JSON.stringify({
        ...{ n: to.n, at: new Date(now()).toISOString(), ...deed, roles: [...roles] },
        ...{ what: what.slice(0, LONGEST), decision: decision.slice(0, LONGEST), before: to.hash },
      } satisfies AuditLine)
      to.hash = hashOf(line)
      to.stream.write(`${line}\n`)
    },
    async close() {
      if (!day) return
      const { stream } = day
      end(day)
      if (!stream.closed) await new Promise<void>((done) => stream.once('close', () => done()))
    },
  }
}

/** What a file of lines comes to: how many there are, the last hash, and the first that does not fit. */
export interface Chain {
  lines: number
  hash: string
  /** The line, and what is wrong with it; absent when all fit. */
  broken?: { line: number; why: string }
}

/** Holds the lines of a file against each other. */
export function chainOf(name: string, text: string): Chain {
  let hash = hashOf(name)
  const lines = text.split('\n')
  const last = lines.pop()
  for (const [i, line] of lines.entries()) {
    const why = faultOf(line, i + 1, hash)
    if (why) return { lines: i, hash, broken: { line: i + 1, why } }
    hash = hashOf(line)
  }
  const torn = last ? { line: lines.length + 1, why: 'it was not finished' } : undefined
  return { lines: lines.length, hash, ...(torn && { broken: torn }) }
}

function faultOf(line: string, n: number, before: string): string | undefined {
  let said: Partial<AuditLine>
  try {
    said = JSON.parse(line) as AuditLine
  } catch {
    return 'it is no JSON'
  }
  if (said.n !== n) return `it is numbered ${said.n}`
  return said.before === before ? undefined : 'it does not follow from the line before'
}

function hashOf(text: string): string {
  return createHash('sha256').update(text).digest('hex')
}
