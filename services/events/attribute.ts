// The attributes of an event: those CloudEvents asks for, and the extensions this record reads.
import { type Found, wrong } from './check-quantity.ts'
import { momentOf } from './moment.ts'
import { nearestName, shown } from './problem.ts'
import type { Entry, JsonObject, JsonValue } from './statement.ts'

/** The attributes as a statement holds them. */
export interface Attributes {
  source: string
  id: string
  type: string
  subject?: string
  time: string
  at: number
  recorded: number
  timespreadSeconds?: number
  supersedes?: string
  entry?: Entry
  sequence?: number
  carried?: Record<string, string | number | boolean>
}

export const ENTRIES = ['machine', 'scan', 'hand'] as const

const READ = new Set([
  'specversion',
  'id',
  'source',
  'type',
  'subject',
  'time',
  'recordedtime',
  'partitionkey',
  'supersedes',
  'timespread',
  'entry',
  'sequence',
  'datacontenttype',
  'data',
  'data_base64',
])
const CARRIED = ['senttime', 'traceparent', 'tracestate', 'dataschema']
/** Where a report set aside stood, and who had it read again: said by the house alone. */
export const REPLAYED = { of: 'replayof', by: 'replayedby' } as const
const KNOWN = [...READ, ...CARRIED]
/** Names as CloudEvents wants them. */
const NAME = /^[a-z0-9]{1,20}$/
const PLAIN = /^[^\p{Cc}\p{Cs}]+$/u
const JSON_TYPE = /^application\/([a-z0-9.+-]+\+)?json\s*(;|$)/i
const MOST_CARRIED = 32
const TIME_FIX = 'Give RFC 3339 with the offset of the plant, such as 2026-03-02T06:40:00-06:00'

/** Reads them; undefined when there is a problem. `recorded` is the door's clock, absent in the log. */
export function readAttributes(
  event: JsonObject,
  recorded: number | undefined,
  found: Found,
): Attributes | undefined {
  if (event.specversion !== '1.0') wrong(found, 'specversion', 'is not 1.0', 'Give "1.0"')
  const contentType = given(event, 'datacontenttype')
  if (
    contentType !== undefined &&
    !(typeof contentType === 'string' && JSON_TYPE.test(contentType))
  ) {
    wrong(found, 'datacontenttype', 'is not JSON', 'Send application/json')
  }
  const attributes: Attributes = {
    id: textOf(event, 'id', 128, found),
    source: textOf(event, 'source', 400, found),
    type: textOf(event, 'type', 100, found),
    time: textOf(event, 'time', 40, found),
    at: 0,
    recorded: recorded ?? momentIn(event, 'recordedtime', found),
  }
  if (attributes.time) attributes.at = momentIn(event, 'time', found)
  if (given(event, 'subject') !== undefined)
    attributes.subject = textOf(event, 'subject', 200, found)
  if (given(event, 'supersedes') !== undefined) {
    attributes.supersedes = textOf(event, 'supersedes', 128, found)
    if (attributes.supersedes === attributes.id) {
      wrong(found, 'supersedes', 'is the event itself', 'Give the id of the earlier event')
    }
  }
  readEntry(event, attributes, found)
  readNumbers(event, attributes, found)
  const others = Object.keys(event).filter((name) => !READ.has(name))
  if (others.length > MOST_CARRIED) {
    wrong(found, 'event', 'has too many attributes', 'Put what the event says under data')
  } else for (const name of others) carry(name, event, attributes, found)
  return found.problems.length > 0 ? undefined : attributes
}

function readEntry(event: JsonObject, attributes: Attributes, found: Found): void {
  const said = given(event, 'entry')
  if (said === undefined) return
  const entry = ENTRIES.find((word) => word === said)
  if (entry) attributes.entry = entry
  else wrong(found, 'entry', 'is not a known word', `Give one of ${ENTRIES.join(', ')}`)
}

function readNumbers(event: JsonObject, attributes: Attributes, found: Found): void {
  const timespread = given(event, 'timespread')
  if (timespread !== undefined) {
    const seconds = numberOf(timespread)
    if (seconds >= 0 && seconds <= 31_536_000) attributes.timespreadSeconds = seconds
    else wrong(found, 'timespread', 'is no number of seconds', 'Give seconds, 0 or more')
  }
  const count = given(event, 'sequence')
  if (count !== undefined) {
    const sequence = numberOf(count)
    if (Number.isSafeInteger(sequence) && sequence >= 0) attributes.sequence = sequence
    else wrong(found, 'sequence', 'is no running count', 'Give a whole number, 0 or more')
  }
}

/** Other attributes travel along; at the door one that looks like a slip of a known name does not. */
function carry(name: string, event: JsonObject, attributes: Attributes, found: Found): undefined {
  const value = given(event, name)
  if (value === undefined) return undefined
  if (found.closed && !CARRIED.includes(name)) {
    const near = nearestName(name, KNOWN)
    if (near) return wrong(found, shown(name), 'is not a known attribute', `Did you mean ${near}?`)
    if (name === REPLAYED.of || name === REPLAYED.by)
      return wrong(found, name, 'is said by the house alone', 'Leave it out')
  }
  if (!NAME.test(name) || typeof value === 'object' || (value as string).length > 2000) {
    if (!found.closed)
      found.flags.push(`${shown(name)} is no CloudEvents attribute; it was not kept`)
    else
      wrong(found, shown(name), 'is no CloudEvents attribute', 'Put it under data, or leave it out')
    return undefined
  }
  if (name === 'senttime' && (typeof value !== 'string' || momentOf(value) === undefined)) {
    if (found.closed)
      return wrong(found, 'senttime', 'is not a date and time with offset', TIME_FIX)
  }
  attributes.carried ??= {}
  attributes.carried[name] = value
  return undefined
}

/** CloudEvents lets an attribute that is not set stand as null. */
function given(event: JsonObject, name: string): JsonValue | undefined {
  return event[name] ?? undefined
}

function textOf(event: JsonObject, name: string, most: number, found: Found): string {
  const value = given(event, name)
  if (value === undefined) wrong(found, name, 'is missing', 'Give it')
  else if (typeof value !== 'string' || !PLAIN.test(value) || value.length > most) {
    wrong(found, name, 'is not a plain text', `Give 1 to ${most} printable characters`)
  } else return value
  return ''
}

function momentIn(event: JsonObject, name: string, found: Found): number {
  const value = event[name]
  const moment = typeof value === 'string' ? momentOf(value) : undefined
  if (moment === undefined) {
    wrong(found, name, 'is not a date and time with offset', TIME_FIX)
  }
  return moment ?? 0
}

function numberOf(value: JsonValue): number {
  if (typeof value === 'number') return value
  return typeof value === 'string' && /^\d{1,15}(\.\d{1,6})?$/.test(value)
    ? Number(value)
    : Number.NaN
}
