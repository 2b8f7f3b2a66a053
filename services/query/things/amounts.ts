// Numbers of one report as the answers show them: quantities with their stated error, chemistry,
// measured values, and moments in the plant's own time.
import type { Fact, Ms } from '../../events/fact.ts'
import type { Quantity } from '../../events/field.ts'
import { momentText } from '../../events/moment.ts'
import type { Estimate } from '../estimate.ts'

/** 95 in 100 of a normal distribution lie within so many standard deviations of its middle. */
const NORMAL_95 = 1.959964

/** A reported quantity in the unit it is kept in; null when it was not said. */
export function estimate(quantity: Quantity | undefined): Estimate | null {
  if (!quantity) return null
  const { value, spread, repeat } = quantity
  if (spread === undefined) return { value, basis: 'REPORTED', interval: null }
  return { value, basis: 'REPORTED', interval: within(value, Math.hypot(spread, repeat ?? 0)) }
}

/** The sum of reported quantities, taken as independent; null when there is none. */
export function total(quantities: readonly Quantity[]): Estimate | null {
  if (quantities.length === 0) return null
  const value = quantities.reduce((sum, quantity) => sum + quantity.value, 0)
  const known = quantities.every(({ spread }) => spread !== undefined)
  const spread = Math.hypot(...quantities.flatMap(({ spread = 0, repeat = 0 }) => [spread, repeat]))
  return { value, basis: 'COMPUTED', interval: known ? within(value, spread) : null }
}

function within(value: number, spread: number): Estimate['interval'] {
  return {
    low: value - NORMAL_95 * spread,
    high: value + NORMAL_95 * spread,
    level: 0.95,
    method: 'the error that was stated with it',
  }
}

/** One reading by its name, as the facts of a report say it; undefined when it was not taken. */
export function readingIn(facts: readonly Fact[], quantity: string): Quantity | undefined {
  for (const fact of facts) {
    if (fact.what !== 'measured' || fact.quantity !== quantity) continue
    const { amount: value, spread, bound } = fact
    return { value, ...(spread !== undefined && { spread }), ...(bound && { bound }) }
  }
  return undefined
}

/** Whether a reading is only a limit. */
export function boundsOf({ bound }: { bound?: 'below' | 'above' | undefined } = {}) {
  return { lessThan: bound === 'below', moreThan: bound === 'above' }
}

/** A moment as the plant's clock shows it, which `time` was written by. Unit: ms. */
export function plantTime(at: Ms, time: string): string {
  const offset = /(?:[+-]\d\d:\d\d)$/.exec(time)?.[0]
  if (!offset) return momentText(at)
  const [hours, minutes] = offset.slice(1).split(':').map(Number)
  const shift = (offset[0] === '-' ? -1 : 1) * (hours! * 60 + minutes!) * 60_000
  return momentText(at + shift).replace(/(?:\.000)?Z$/, offset)
}

/** A word of the contract as the schema writes it: shake-out as SHAKE_OUT. */
export function enumWord(word: string): string {
  return word.replaceAll('-', '_').toUpperCase()
}

/** The other way round. */
export function contractWord(word: string): string {
  return word.replaceAll('_', '-').toLowerCase()
}
