// CloudEvents 1.0.2 in and out. Our own codec, because the plant's offset in `time` must survive and
// every refusal must name the field and the fix.

import { type Attributes, REPLAYED, readAttributes } from './attribute.ts'
import { contentHash } from './canonical.ts'
import { checkData, missingType, nearestType, subjectOf } from './catalog.ts'
import { type Found, isObject } from './check-quantity.ts'
import { momentText } from './moment.ts'
import { type Problem, problemSentence, shown } from './problem.ts'
import { SOURCE_FORM, type Source, sourceOf } from './source.ts'
import type { JsonObject, JsonValue, Statement } from './statement.ts'

/** An event at the door, in bytes. */
export const EVENT_BYTES = 64 * 1024
/** Written anew by the door a number such as 1e9 may take three times the room: never set aside. */
const LOGGED_BYTES = 4 * EVENT_BYTES
const HOUR = 3_600_000

export interface Decoding {
  /** The station whose topic it came by. */
  topic?: string
  /**
   * At the door: when it took the event in. Stamped over what was sent; unknown fields are refused.
   * Absent in the log: the event's own recordedtime is read, unknown fields are kept and flagged.
   */
  recorded?: number
}

export type Refusal = 'UNDECODABLE' | 'OVERSIZE' | 'SCHEMA' | 'UNKNOWN' | 'FORGED' | 'DOMAIN'

export interface Accepted {
  ok: true
  statement: Statement
  /** In SI units, of the type's own shape: what claimOf and factsOf take. */
  data: unknown
  flags: string[]
}

export interface Refused {
  ok: false
  class: Refusal
  /** One or two sentences that name the field and the fix. */
  reason: string
  problems: Problem[]
}

export type Decoded = Accepted | Refused

const utf8 = new TextDecoder('utf-8', { fatal: true })

/** Decodes a structured event, one JSON object; five bytes of a schema registry before it are cut. */
export function decode(bytes: Uint8Array, how: Decoding = {}): Decoded {
  const oversize = tooLong(bytes.length, how)
  if (oversize) return oversize
  let event: JsonValue
  try {
    event = JSON.parse(utf8.decode(bytes[0] === 0 ? bytes.subarray(5) : bytes))
  } catch (error) {
    return undecodable(error)
  }
  return decodeEvent(event, how)
}

/** Decodes an event already parsed, such as one of a batch. */
export function decodeEvent(event: JsonValue, how: Decoding = {}): Decoded {
  if (!isObject(event)) {
    return refused('UNDECODABLE', 'event', 'is not a JSON object', 'Send one {…} for each event')
  }
  const found: Found = { problems: [], flags: [], closed: how.recorded !== undefined }
  const attributes = readAttributes(event, how.recorded, found)
  if (!attributes) return fromProblems(found.problems)
  const source = trueSource(attributes, how.topic)
  if ('ok' in source) return source
  if (!TYPE.test(attributes.type)) return refused('SCHEMA', 'type', 'is not complete', TYPE_FIX)
  const data = event.data
  if (!isObject(data)) {
    const fix = 'data_base64' in event ? 'Send data as JSON, not data_base64' : 'Give {…}'
    return refused('SCHEMA', 'data', 'is not an object', fix)
  }
  const missing = missingType(attributes.type, data)
  if (missing !== undefined) {
    const near = nearestType(missing)
    const fix = near ? `Did you mean ${near}?` : 'See schema/event-types.md for what may be said'
    return refused('UNKNOWN', 'type', `${shown(missing)} is not known here`, fix)
  }
  return settle(attributes, source, data, found)
}

/** Binary mode: attributes in `ce_` headers (Kafka) or `ce-` headers (HTTP), data in the body. */
export function decodeBinary(
  headers: Readonly<Record<string, string | Uint8Array | undefined>>,
  body: Uint8Array,
  how: Decoding = {},
): Decoded {
  const oversize = tooLong(body.length, how)
  if (oversize) return oversize
  try {
    const event: JsonObject = Object.create(null)
    for (const [header, value] of Object.entries(headers)) {
      const prefix = /^(ce[_-]|content-type$)/i.exec(header)?.[0].toLowerCase()
      if (!prefix || value === undefined) continue
      const text = typeof value === 'string' ? value : utf8.decode(value)
      if (prefix === 'content-type') event.datacontenttype = text
      else {
        // The HTTP binding percent-encodes, the Kafka binding does not.
        event[header.slice(3).toLowerCase()] = prefix === 'ce-' ? decodeURIComponent(text) : text
      }
    }
    event.data = JSON.parse(utf8.decode(body))
    return decodeEvent(event, how)
  } catch (error) {
    return undecodable(error)
  }
}

/** The event as structured JSON in UTF-8: what goes into the log. */
export function encode(statement: Statement): Uint8Array {
  const { source, subject, supersedes, timespreadSeconds, entry, sequence } = statement
  const event = {
    specversion: '1.0',
    id: statement.id,
    source,
    type: statement.type,
    subject,
    time: statement.time,
    recordedtime: momentText(statement.recorded),
    partitionkey: source,
    supersedes,
    // Numbers as text: CloudEvents has 32-bit integers and no fractions.
    timespread: timespreadSeconds === undefined ? undefined : String(timespreadSeconds),
    entry,
    sequence: sequence === undefined ? undefined : String(sequence),
    ...statement.carried,
    datacontenttype: 'application/json',
    data: statement.entered,
  }
  return Buffer.from(JSON.stringify(event))
}

const TYPE = /^[a-z]+\.[a-z][a-z-]{0,60}\.v[1-9][0-9]{0,3}$/
const TYPE_FIX = 'Give <station>.<fact>.v<major>, such as melt.heat-tapped.v1'

/** Type, source and topic must name one station; who says otherwise is not who it says. */
function trueSource({ source, type }: Attributes, topic?: string): Source | Refused {
  const parts = sourceOf(source)
  if (!parts) return refused('FORGED', 'source', 'names no station', `Give ${SOURCE_FORM}`)
  if (!type.startsWith(parts.station + '.')) {
    const fix = `Send it as ${parts.station}.<fact>.v1, or from the station that says it`
    return refused('FORGED', 'type', `is not said by the station ${parts.station}`, fix)
  }
  if (topic !== undefined && topic !== parts.station) {
    const fix = `Send it to ${parts.station}`
    return refused('FORGED', 'source', `is not of the station ${topic} it came by`, fix)
  }
  return parts
}

/** Checks the data and makes the statement. */
function settle(
  attributes: Attributes,
  { plant, station, machine }: Source,
  entered: JsonObject,
  found: Found,
): Decoded {
  const { subject: said, at, recorded, ...rest } = attributes
  const context = { plant, at, station, ...(machine && { machine }) }
  found.machine = machine
  const data = checkData(rest.type, entered, context, found)
  if (found.problems.length > 0) return fromProblems(found.problems)
  const subject = subjectOf(rest.type, data)
  if (said !== undefined && said !== subject) {
    const fix = subject === undefined ? 'Leave it out' : `Give ${subject}`
    return refused('SCHEMA', 'subject', 'is not what the data is about', fix)
  }
  let hash: string
  try {
    const { type, time, supersedes } = rest
    hash = contentHash({ type, subject, time, supersedes, data: entered })
  } catch (error) {
    return undecodable(error)
  }
  if (at > recorded + HOUR) found.flags.push('time is over an hour after the event was taken in')
  const { [REPLAYED.of]: replayed, [REPLAYED.by]: by } = attributes.carried ?? {}
  if (replayed !== undefined)
    found.flags.push(`it had been set aside at ${replayed} and was replayed by ${by}`)
  const ended = (data as { endedAt?: number }).endedAt
  if (ended !== undefined && Math.abs(ended - at) > HOUR) {
    found.flags.push('endedAt is over an hour from time, which is when it ended')
  }
  const statement: Statement = { plant, station, ...rest, at, recorded, hash, entered }
  if (subject !== undefined) statement.subject = subject
  return { ok: true, statement, data, flags: found.flags }
}

function tooLong(bytes: number, how: Decoding): Refused | undefined {
  const most = how.recorded === undefined ? LOGGED_BYTES : EVENT_BYTES
  if (bytes <= most) return undefined
  return refused(
    'OVERSIZE',
    'event',
    `is ${bytes} bytes long`,
    `Send at most ${most} bytes an event`,
  )
}

function undecodable(error: unknown): Refused {
  const message = error instanceof Error ? error.message : String(error)
  // It may quote the bytes: a database keeps neither U+0000 nor halves of surrogate pairs.
  const why = message.replaceAll(/[\p{Cc}\p{Cs}]/gu, '?')
  return refused('UNDECODABLE', 'event', `cannot be read: ${why}`, 'Send JSON in UTF-8')
}

function refused(refusal: Refusal, path: string, problem: string, fix: string): Refused {
  const problems = [{ path, problem, fix }]
  return { ok: false, class: refusal, reason: problemSentence(problems[0]!), problems }
}

/** Ill-formed outranks impossible: what cannot be read cannot be judged. */
function fromProblems(problems: Problem[]): Refused {
  const formed = problems.every((problem) => problem.impossible)
  const more = problems.length > 1 ? ` And ${problems.length - 1} more.` : ''
  const reason = problemSentence(problems[0]!) + more
  return { ok: false, class: formed ? 'DOMAIN' : 'SCHEMA', reason, problems }
}
