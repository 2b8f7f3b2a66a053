// What a pour was poured from: its ladle, and the heats that were tapped into it.
import type { Grams } from '../events/fact.ts'
import type { View } from './followed.ts'

/** One tap into the ladle of a pour. */
export interface Tapped {
  heat: number
  grams: Grams
  /** Tapped into the ladle in all. */
  all: Grams
}

export function ladleOfPour({ book, asOf }: View, pour: number): number | undefined {
  return book.of(pour, 'poured', asOf)[0]?.fact.other
}

/** Its metal is of the heats its ladle was tapped from, by what was tapped. */
export function heatsOfPour(view: View, pour: number): Tapped[] {
  const ladle = ladleOfPour(view, pour)
  const taps = ladle === undefined ? [] : view.book.of(ladle, 'ladle-tapped', view.asOf)
  const all = taps.reduce((sum, tap) => sum + tap.fact.amount, 0)
  return taps.map(({ fact }) => ({ heat: fact.other, grams: fact.amount, all }))
}
