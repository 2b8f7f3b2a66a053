import type { Name } from '../events/fact.ts'
import type { Context } from './context.ts'

/** The GraphQL input ThingBy: exactly one of the three. */
export interface ThingBy {
  id?: string
  mark?: string
  scan?: string
}

/** What a written name turned out to be. */
export type Found =
  | { found: 'one'; no: number; name: Name }
  | { found: 'several'; written: string; candidates: FoundCandidate[] }
  | { found: 'none'; written: string; sentence: string; near: string[] }

export interface FoundCandidate {
  no: number
  because: string
  /** Adds up to 1 over all that fit. */
  fit: number
}

/**
 * Finds what is called so: an id exactly, a mark whatever its case, inner spaces and dashes, with ?
 * for a sign that cannot be read; a scan is taken apart first.
 */
export declare function find(context: Context, by: ThingBy, asOf?: number): Promise<Found>

/** The same for many ids at once, in the order given. */
export declare function findIds(context: Context, ids: readonly string[]): Promise<Found[]>

/** The GraphQL object Unclear or NotKnown that says so. */
export declare function notOne(
  context: Context,
  found: Exclude<Found, { found: 'one' }>,
  asOf?: number,
): object
