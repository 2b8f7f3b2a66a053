// A report that was set aside, once more: as it came, after the program has learnt to read it, or as
// somebody has put it right. It goes through the log like any other, says where it had stood and who
// had it replayed, and what was set aside stays as it is.
import { REPLAYED } from '../events/attribute.ts'
import { decode, encode, type Refused } from '../events/envelope.ts'
import type { Ms, Station } from '../events/fact.ts'
import type { Statement } from '../events/statement.ts'
import type { Entry, Place } from '../log/log.ts'

/** A record that was no statement. */
export interface SetAside extends Place {
  /** Whose topic it came by. */
  station: Station
  /** As it came. */
  bytes: Uint8Array
}

export interface Replay {
  /** Who has it replayed. */
  by: string
  /** The event put right; absent, it is replayed as it came. */
  edited?: Uint8Array
  /** Unit: ms. */
  now: Ms
}

export interface Replayed {
  ok: true
  station: Station
  entry: Entry
  statement: Statement
}

const BY = /^[^\p{Cc}\p{Cs}]{1,100}$/u

/** What to append; or why it still is no statement. Throws when nobody is named. */
export function replayed(aside: SetAside, { by, edited, now }: Replay): Replayed | Refused {
  if (!BY.test(by)) throw new Error('Say who replays it, in up to 100 printable characters.')
  // Put right by hand, it is held to what doors hold reports to.
  const decoded = edited
    ? decode(edited, { recorded: now })
    : decode(aside.bytes, { topic: aside.station })
  if (!decoded.ok) return decoded
  const statement: Statement = {
    ...decoded.statement,
    recorded: now,
    carried: {
      ...decoded.statement.carried,
      [REPLAYED.of]: `${aside.topic}/${aside.partition}/${aside.offset}`,
      [REPLAYED.by]: by,
    },
  }
  if (edited) parted(statement, aside)
  const entry = { key: statement.source, value: encode(statement) }
  return { ok: true, station: statement.station, entry, statement }
}

/**
 * What was put right is another event than what came: under the same id the two would be rivals as soon
 * as a later version of the program can read the first.
 */
function parted(statement: Statement, { bytes, offset }: SetAside): void {
  const came = keyIn(bytes)
  if (came?.source !== statement.source || came.id !== statement.id) return
  statement.id = `${statement.id.slice(0, 100)}-replayed-${offset}`
  statement.supersedes ??= came.id
}

function keyIn(bytes: Uint8Array): { source: unknown; id: string } | undefined {
  try {
    const { source, id } = JSON.parse(Buffer.from(bytes).toString()) as Record<string, unknown>
    return typeof id === 'string' ? { source, id } : undefined
  } catch {
    return undefined
  }
}
