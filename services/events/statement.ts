import type { Station } from './fact.ts'

/** One event as the record keeps it: said once, by one station, never changed. */
export interface Statement {
  plant: string
  station: Station
  /** CloudEvents source; with `id` the idempotency key, and only within it may `supersedes` point. */
  source: string
  id: string
  /** Such as melt.heat-tapped.v1. */
  type: string
  /** `kind:id` of the main thing, as said; absent where the type has none. */
  subject?: string
  /** RFC 3339 with the offset as said. */
  time: string
  /** The same moment. Unit: ms. */
  at: number
  /** `time` may be wrong by this much either way. Unit: s. */
  timespreadSeconds?: number
  supersedes?: string
  entry?: Entry
  sequence?: number
  /** CloudEvents attributes carried along and not read, such as senttime and traceparent. */
  carried?: Record<string, string | number | boolean>
  /** When the door took it in. Unit: ms. "As of T" means recorded ≤ T. */
  recorded: number
  /** SHA-256 of the canonical content, lower-case hex; see canonical.ts. */
  hash: string
  /** `data` as entered, units included. */
  entered: JsonObject
}

export type Entry = 'machine' | 'scan' | 'hand'

export type JsonValue = string | number | boolean | null | JsonValue[] | JsonObject
export interface JsonObject {
  [name: string]: JsonValue
}
