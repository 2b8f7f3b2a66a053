// The closed list of what may be said, and what a statement comes to: data in SI units, a claim on
// the record, facts.
import { type Found, wrong } from './check-quantity.ts'
import type { Claim } from './claim.ts'
import { CLEAN } from './clean.ts'
import { CORRECTIONS, recordCorrected, recordVoided } from './correction.ts'
import type { Context, EventType } from './event-type.ts'
import type { Fact } from './fact.ts'
import { INSPECT } from './inspect.ts'
import { MELT } from './melt.ts'
import { MOLD } from './mold.ts'
import { offsetMinutesOf } from './moment.ts'
import { POUR } from './pour.ts'
import { impossible, nearestName } from './problem.ts'
import { QUALITY } from './quality.ts'
import { RECEIVE } from './receive.ts'
import { SEASON } from './season.ts'
import { SHIP } from './ship.ts'
import { SOURCE_FORM, sourceOf } from './source.ts'
import type { Entry, JsonObject, Statement } from './statement.ts'

/** Every event type, in the order of the reference page. */
export const EVENT_TYPES: readonly EventType[] = [
  ...RECEIVE,
  ...MELT,
  ...MOLD,
  ...POUR,
  ...CLEAN,
  ...SEASON,
  ...INSPECT,
  ...SHIP,
  ...QUALITY,
  ...CORRECTIONS,
]

const byName = new Map(EVENT_TYPES.map((type) => [type.type, type]))

/** The known type most like a mistyped one. */
export function nearestType(type: string): string | undefined {
  return nearestName(type, byName.keys())
}

/** What a statement comes to. */
export interface Reading {
  /** Data in SI units, of the type's own shape. */
  data: unknown
  claim: Claim
  facts: Fact[]
  flags: string[]
}

/** Reads a statement that a decoder let through. Throws when it is of no known type or ill-formed. */
export function read(statement: Statement): Reading {
  const context = contextOf(statement)
  const found: Found = { problems: [], flags: [], closed: false, machine: context.machine }
  const data = checkData(statement.type, statement.entered, context, found)
  if (found.problems.length > 0) {
    throw new Error(`${statement.source} ${statement.id} is not a fit ${statement.type}`)
  }
  return {
    data,
    claim: claimOf(statement, data),
    facts: factsOf(statement, data),
    flags: found.flags,
  }
}

/** A type the event needs and this catalogue lacks: its own, or the one it corrects. */
export function missingType(type: string, entered: JsonObject): string | undefined {
  const known = byName.get(type)
  if (!known) return type
  if (known !== recordCorrected && known !== recordVoided) return undefined
  const named = entered.event
  const of = typeof named === 'object' && named && 'type' in named ? named.type : undefined
  return typeof of === 'string' && of.length <= 100 && !byName.has(of) ? of : undefined
}

/** Data of a known type in SI units; problems and flags are put into `found`. */
export function checkData(
  type: string,
  entered: JsonObject,
  context: Context,
  found: Found,
): unknown {
  const declared = known(type)
  const before = found.problems.length
  const data = declared.check(entered, context, found)
  if (found.problems.length > before) return data
  if (declared === recordCorrected) return checkCorrection(data as Deciding, context.plant, found)
  if (declared === recordVoided) checkEvent((data as Deciding).event, context.plant, found)
  return data
}

/** The subject that the data has: what the envelope says, if it says any, must be this. */
export function subjectOf(type: string, data: unknown): string | undefined {
  return known(type).subject(data)
}

/** What the statement claims about the record. */
export function claimOf(statement: Statement, data: unknown): Claim {
  const { plant, source, id, hash, recorded, supersedes, entry } = statement
  const { type, subject, said, context, decides } = aimOf(statement, data)
  const claim: Claim = {
    plant,
    source,
    id,
    hash,
    recorded,
    about: `${type.base} ${subject ?? ''}`.trimEnd(),
    rank: RANKS[entry ?? 'scan'],
    void: decides === 'void',
  }
  if (decides) claim.joins = eventOf(data)
  else if (supersedes !== undefined) claim.joins = { source, id: supersedes }
  if (decides === 'void') return claim
  const slot = type.slot?.(said, context)
  if (slot !== undefined) claim.slot = `${plant} ${type.base} ${slot}`
  const span = type.span?.(said)
  return span ? { ...claim, ...span } : claim
}

/** The facts the statement comes to while it is in force. */
export function factsOf(statement: Statement, data: unknown): Fact[] {
  const { type, said, context, decides } = aimOf(statement, data)
  return decides === 'void' ? [] : type.facts(said, context)
}

/** The report as one sentence in the trade's words. */
export function describeReport(statement: Statement): string {
  const type = byName.get(statement.type)
  if (!type) return `A report of a kind not known here: ${statement.type}.`
  return type.says(read(statement).data) + '.'
}

const RANKS: Record<Entry, Claim['rank']> = { hand: 0, scan: 1, machine: 2 }

/** The event a decision names, with the moment already in ms. */
interface Named {
  source: string
  id: string
  type: string
  subject?: string
  time?: number
}

interface Deciding {
  event: Named
  data: JsonObject
}

/** What a statement speaks for: itself, or the event it decides on. */
interface Aim {
  type: EventType
  subject: string | undefined
  said: unknown
  context: Context
  decides?: 'correct' | 'void'
}

function aimOf(statement: Statement, data: unknown): Aim {
  const type = known(statement.type)
  if (type !== recordCorrected && type !== recordVoided) {
    return { type, subject: statement.subject, said: data, context: contextOf(statement) }
  }
  const { event, data: said } = data as { event: Named; data?: unknown }
  const { time } = statement.entered.event as { time?: string }
  return {
    type: known(event.type),
    subject: event.subject,
    said,
    context: contextOf({
      source: event.source,
      at: event.time ?? statement.at,
      time: time ?? statement.time,
    }),
    decides: type === recordVoided ? 'void' : 'correct',
  }
}

function contextOf({
  source,
  at,
  time,
  sequence,
}: Pick<Statement, 'source' | 'at' | 'sequence'> & Partial<Pick<Statement, 'time'>>): Context {
  const { plant, station, machine } = sourceOf(source)!
  const context: Context = { plant, at, station }
  if (time !== undefined) context.offsetMinutes = offsetMinutesOf(time)
  if (machine !== undefined) context.machine = machine
  if (sequence !== undefined) context.sequence = sequence
  return context
}

/** Checks the new data of a corrected event by that event's own type. */
function checkCorrection(data: Deciding, plant: string, found: Found): unknown {
  const { event } = data
  const type = checkEvent(event, plant, found)
  if (!type) return data
  const context = contextOf({ source: event.source, at: event.time! })
  const inner: Found = { problems: [], flags: [], closed: found.closed, machine: context.machine }
  const said = type.check(data.data, context, inner)
  for (const problem of inner.problems) {
    found.problems.push({ ...problem, path: `data.${problem.path}` })
  }
  for (const flag of inner.flags) found.flags.push(`data.${flag}`)
  if (inner.problems.length === 0 && type.subject(said) !== event.subject) {
    const fix = 'Type, subject and time stay: void the event and report it again'
    found.problems.push(impossible('data', `is not about ${event.subject ?? 'the event'}`, fix))
  }
  return { ...data, data: said }
}

/** Checks that a decision names an event its source could have sent; gives the event's type. */
function checkEvent(event: Named, plant: string, found: Found): EventType | undefined {
  const source = sourceOf(event.source)
  const type = byName.get(event.type)
  if (source && source.plant !== plant) {
    wrong(found, 'event.source', 'is of another plant', 'A plant decides on its own events')
  } else if (!source) {
    wrong(found, 'event.source', 'names no station', `Give ${SOURCE_FORM}`)
  } else if (!type) {
    const near = nearestType(event.type)
    wrong(
      found,
      'event.type',
      'is not known',
      near ? `Did you mean ${near}?` : 'Copy it from the event',
    )
  } else if (type.station !== source.station) {
    wrong(found, 'event.type', 'is not said by that source', 'Copy both from the event')
  } else return type
  return undefined
}

function eventOf(data: unknown): { source: string; id: string } {
  const { source, id } = (data as { event: Named }).event
  return { source, id }
}

function known(type: string): EventType {
  const declared = byName.get(type)
  if (!declared) throw new Error(`${type} is not in the catalogue`)
  return declared
}
