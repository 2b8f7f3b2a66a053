// How much hotter a pour was than where its iron begins to freeze.
import type { View } from '../followed.ts'
import { type Freezing, superheat } from './forms.ts'
import type { Reading, Readings } from './readings.ts'

export interface PourSuperheat extends Freezing {
  kelvin: number
  /** The ladle or heat whose sample it was worked out with. */
  sampled: number
}

/** By the mean of its temperatures and the sample nearest to it; undefined where either is missing. */
export function superheatOf(view: View, pour: number): PourSuperheat | undefined {
  const { book, asOf } = view
  const temperatures = book
    .of(pour, 'measured', asOf)
    .filter(({ fact }) => fact.quantity === 'pouring temperature' && !fact.bound)
    .map(({ fact }) => fact.amount)
  if (temperatures.length === 0) return undefined
  const poured = temperatures.reduce((sum, celsius) => sum + celsius, 0) / temperatures.length
  for (const sampled of sampledFor(view, pour)) {
    const { readings, liquidus } = sampleOf(view, sampled)
    const found = superheat(poured, readings, liquidus)
    if (found) return { ...found, sampled }
  }
  return undefined
}

/** Its filling, then the heats it was tapped from. */
function* sampledFor({ book, asOf }: View, pour: number): Iterable<number> {
  const from = book.of(pour, 'poured', asOf)[0]?.fact.other
  if (from === undefined) return
  yield from
  for (const tap of book.of(from, 'ladle-tapped', asOf)) yield tap.fact.other
}

/** The first sample of a thing. */
function sampleOf(view: View, no: number): { readings: Readings; liquidus?: number } {
  const said = view.book
    .of(no, 'measured', view.asOf)
    .filter(({ fact }) => fact.unit === 'P1')[0]?.said
  const readings: Record<string, Reading> = {}
  let liquidus: number | undefined
  for (const noted of view.book.of(no, 'measured', view.asOf)) {
    if (noted.said !== said) continue
    const { quantity, unit, amount: value, bound } = noted.fact
    if (unit === 'P1') readings[quantity] = { value, ...(bound && { bound }) }
    else if (quantity === 'liquidus' && !bound) liquidus = value
  }
  return { readings, ...(liquidus !== undefined && { liquidus }) }
}
