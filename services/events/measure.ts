// Quantities as facts: grams, counts and readings.
import { fact } from './event-type.ts'
import type { FactOf, Grams, Ms, Name, Weighed } from './fact.ts'
import type { Chemistry, Quantity } from './field.ts'

/** Whole grams of a weight in kg. */
export function grams(kg: Quantity): Grams
export function grams(kg: Quantity | undefined): Grams | undefined
export function grams(kg: Quantity | undefined): Grams | undefined {
  return kg && Math.round(kg.value * 1000)
}

/** Standard deviation of a weight in kg, in grams. */
export function gramSpread(kg: Quantity | undefined): Grams | undefined {
  return kg?.spread === undefined ? undefined : kg.spread * 1000
}

/** A weight in kg as a fact keeps it: grams, and how surely. */
export function weight(kg: Quantity, scale?: string): Weighed & { amount: Grams }
export function weight(
  kg: Quantity | undefined,
  scale?: string,
): Weighed & { amount: Grams | undefined }
export function weight(
  kg: Quantity | undefined,
  scale?: string,
): Weighed & { amount: Grams | undefined } {
  return {
    amount: grams(kg),
    scale,
    how: kg?.how,
    spread: gramSpread(kg),
    repeat: kg?.repeat === undefined ? undefined : kg.repeat * 1000,
  }
}

/** What a reading was taken of, and when. */
interface Taken {
  of: Name
  at: Ms
  instrument?: string | undefined
  method?: string | undefined
  afterTap?: number | undefined
}

/** One reading as a fact; none when it was not taken. */
export function measured(
  taken: Taken,
  quantity: string,
  unit: string,
  reading: Quantity | undefined,
): FactOf<'measured'>[] {
  if (!reading) return []
  const { value: amount, spread, bound } = reading
  return [fact('measured', { ...taken, quantity, amount, unit, spread, bound })]
}

/** Elements as facts: the quantity is the symbol, the unit P1 (percent). */
export function measuredChemistry(
  taken: Taken,
  chemistry: Chemistry | undefined,
): FactOf<'measured'>[] {
  return Object.entries(chemistry ?? {}).flatMap(([symbol, reading]) =>
    measured(taken, symbol, 'P1', reading),
  )
}
