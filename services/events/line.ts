// Molding lines and the numbers of their molds: what mold and pour both speak of.
import { id, optional, orMachine, text, whole } from './field.ts'

/** The line, which a source that ends in it need not repeat. */
export const line = orMachine(id('line', 'The molding line.'))

export const series = optional(
  text('Counter run, where the line starts again at 1; absent: the latest that fits.', 64),
)

export const runOfMolds = {
  first: whole('Number of the first mold.'),
  last: whole('Number of the last mold.'),
}
