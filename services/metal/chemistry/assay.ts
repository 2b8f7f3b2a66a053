// How much of an element a lot holds, as far as anyone has said: the laboratory before the supplier.
import { type Followed, followThing, nothingFollowed, type View } from '../followed.ts'
import type { Worth } from '../ledger.ts'
import { behaviourOf } from './behaviour.ts'
import type { Reading } from './readings.ts'

export interface Assay extends Worth {
  lot: number
  from: 'given' | 'laboratory' | 'certificate'
  /** Only a limit is known: the lot clears nothing. */
  bound?: 'below' | 'above'
}

// Common practice, no source: of an analysis whose error nobody stated, a tenth either way; half as
// much again of a certificate, which speaks for a lot by a few samples.
const UNSTATED = { given: 0.1, laboratory: 0.1, certificate: 0.15 }
const TWO_SIGMA = 1.959964

/** The newest laboratory reading of a lot, else its certificate. Unit of the parts: of the mass, 0 to 1. */
export function assayOf(view: View, lot: number, symbol: string): Assay | undefined {
  const { book, asOf } = view
  const readings = book
    .of(lot, 'measured', asOf)
    .filter(({ fact }) => fact.quantity === symbol && fact.unit === 'P1')
  const newest = readings.at(-1)
  if (!newest) return undefined
  const received = book.of(lot, 'lot-received', asOf)[0]
  const from = newest.said === received?.said ? 'certificate' : 'laboratory'
  const { amount: value, spread, bound } = newest.fact
  return assay(
    lot,
    { value, ...(spread !== undefined && { spread }), ...(bound && { bound }) },
    from,
  )
}

/** A reading as an assay: its best value and the ends of its interval. */
export function assay(lot: number, reading: Reading, from: Assay['from']): Assay {
  const { value, spread, bound } = reading
  const part = value / 100
  if (bound === 'below') return { lot, from, bound, best: part / 2, low: 0, high: part }
  if (bound === 'above') return { lot, from, bound, best: part, low: part, high: 1 }
  const error = spread === undefined ? UNSTATED[from] * part : (TWO_SIGMA * spread) / 100
  return { lot, from, best: part, low: Math.max(0, part - error), high: Math.min(1, part + error) }
}

/** What the lots bring of an element, followed as far as it stays in the metal. */
export function followAssays(view: View, assays: readonly Assay[], symbol: string): Followed {
  const { kept } = behaviourOf(symbol)
  const followed = nothingFollowed()
  const worth = new Map<number, Worth>()
  for (const { lot, best, low, high } of assays) {
    const before = followed.seeds.length
    followThing(view, followed, lot)
    for (const slot of followed.seeds.slice(before)) {
      worth.set(slot, {
        best: best * kept.best,
        low: low * kept.low,
        high: Math.min(1, high * kept.high),
      })
    }
  }
  // An element of a lot is in metal only: what the lot touched holds none of it.
  followed.touched.clear()
  followed.perhapsTouched.clear()
  return { ...followed, worth }
}
