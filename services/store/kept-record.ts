import type { Claim } from '../events/claim.ts'
import type { Fact, Ms } from '../events/fact.ts'
import type { Problem } from '../events/problem.ts'
import type { Statement } from '../events/statement.ts'
import type { PlantName } from './dictionary.ts'

/** Where a record stands in the log. */
export interface Place {
  topic: string
  partition: number
  offset: bigint
}

/** One record of the log as the database keeps it: what it says, or why it could not be read. */
export interface KeptRecord<Outcome = Said | Aside> extends Place {
  /** The record itself, kept when it is set aside. */
  key: string
  bytes: Uint8Array
  /** When it was read: stands in where a record set aside does not tell when it was taken in. */
  taken: Ms
  outcome: Outcome
}

export interface Said {
  statement: Statement
  claim: Claim
  facts: readonly Fact[]
  flags: readonly string[]
}

/** No statement. */
export interface Aside {
  class: AsideClass
  reason: string
  problems: readonly Problem[]
  plant?: string | undefined
  source?: string | undefined
  type?: string | undefined
  recorded?: Ms | undefined
}

export type AsideClass = 'UNDECODABLE' | 'OVERSIZE' | 'SCHEMA' | 'UNKNOWN' | 'FORGED' | 'DOMAIN'

/** The same record set aside: what it says can be read and still cannot be. */
export function setAside(record: KeptRecord<Said>, reason: string): KeptRecord<Aside> {
  const { plant, source, type, recorded } = record.outcome.statement
  return {
    ...record,
    outcome: { class: 'DOMAIN', reason, problems: [], plant, source, type, recorded },
  }
}

/** Every thing it names. */
export function namesIn({ outcome }: KeptRecord): PlantName[] {
  if ('class' in outcome) return []
  const { plant, subject } = outcome.statement
  const names = subject === undefined ? [] : [subject]
  for (const fact of outcome.facts) {
    names.push(fact.of)
    if ('other' in fact && fact.other !== undefined) names.push(fact.other)
    if ('via' in fact && fact.via !== undefined) names.push(fact.via)
  }
  return names.map((name) => ({ plant, name }))
}

/**
 * Why the database would take this statement and change it on the way; undefined when it would not.
 * What it refuses by itself is left to it.
 */
export function changedByStoring({ statement, facts }: Said): string | undefined {
  for (const fact of facts)
    if (!isFiniteThroughout(fact))
      return `A number of its ${fact.what} is too large to work with. Correct the report.`
  const texts = [statement.source, statement.id, statement.subject ?? '', statement.type]
  if (!texts.every((text) => text.isWellFormed()))
    return 'A text of its envelope holds half a surrogate pair. Send proper Unicode.'
  return undefined
}

function isFiniteThroughout(value: unknown): boolean {
  if (typeof value === 'number') return Number.isFinite(value)
  if (typeof value !== 'object' || value === null) return true
  for (const key in value)
    if (!isFiniteThroughout((value as Record<string, unknown>)[key])) return false
  return true
}
