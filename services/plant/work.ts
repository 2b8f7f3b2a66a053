// The invented foundry at the doors of a house: the demo shows it, and a test of the README repeats it.
import type { House } from '../house.ts'
import type { Receipt } from '../stations/door.ts'
import { simulate } from './plant.ts'
import type { Truth } from './truth.ts'

/** The foundry that the demo works, and that the README quotes. */
export const DEMO = { seed: 1, days: 2 }

const BATCH = 250

export interface Shift {
  /** A whole number; the same one gives the same foundry. */
  seed: number
  /** Production days. */
  days: number
  /** Told after each batch how many reports went to the doors, of how many. */
  progress?(sent: number, of: number): void
}

export interface Worked {
  outcomes: Record<Receipt['outcome'], number>
  truth: Truth
}

/** Sends all that the foundry reports through the door; resolves when it can be asked for. */
export async function workDemo(
  { door, settled }: Pick<House, 'door' | 'settled'>,
  { seed, days, progress }: Shift,
): Promise<Worked> {
  const { reports, truth } = simulate({ seed, days })
  const outcomes: Worked['outcomes'] = { accepted: 0, duplicate: 0, refused: 0 }
  for (let i = 0; i < reports.length; i += BATCH) {
    const batch = reports
      .slice(i, i + BATCH)
      .map(({ body }) => Buffer.from(typeof body === 'string' ? body : JSON.stringify(body)))
    for (const { outcome } of await door.take(batch, { decisions: true })) outcomes[outcome]++
    progress?.(i + batch.length, reports.length)
  }
  await settled()
  return { outcomes, truth }
}
