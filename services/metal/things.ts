import type { Kind } from '../events/fact.ts'
import { digest } from './digest.ts'
import { kept } from './kept.ts'

/** What the numbers of things stand for. */
export interface Things {
  kind(no: number): Kind
  plant(no: number): string
  /** `kind:id`. */
  name(no: number): string
  numberOf(plant: string, name: string): number | undefined
}

/** Alike in every place, whatever its language. */
export function compareTexts(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0
}

const ties = new WeakMap<Things, Map<number, number>>()

/**
 * Where a thing stands among others of one moment: by its name, since numbers follow who wrote first.
 * 0 to 2^32 − 1.
 */
export function tieOfThing(things: Things, no: number): number {
  const known = ties.get(things) ?? new Map<number, number>()
  ties.set(things, known)
  return kept(known, no, () => digest(`${things.plant(no)} ${things.name(no)}`))
}
