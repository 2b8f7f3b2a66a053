// A candidate: what castings have in common that may explain their defects.
import type { Kind } from './table.ts'

/** One condition on one factor. */
export type Part =
  | { factor: number; is: 'level'; level: number }
  /** At least `from` and below `until`. */
  | { factor: number; is: 'between'; from: number; until: number }
  | { factor: number; is: 'dose' }
  /** Nobody recorded it. */
  | { factor: number; is: 'missing' }

export interface Candidate {
  kind: Kind
  /** All must hold; a pair has two. */
  parts: Part[]
  /** Variants of one cause, such as several cuts of one measure, share their name. */
  named: string
  /** Belief beforehand. Unit: chance; all candidates and nothing at all add up to 1. */
  prior: number
}

/** All below a cut, or all from it on. */
export function isTail(part: Part): boolean {
  return part.is === 'between' && !(Number.isFinite(part.from) && Number.isFinite(part.until))
}
