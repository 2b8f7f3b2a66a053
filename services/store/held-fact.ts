// Facts in force, and how pages of rows of which some are not in force are filled.
import type { Fact, Ms } from '../events/fact.ts'
import type { Database } from './connect.ts'
import type { Place } from './kept-record.ts'
import { inForceAmong, placeText } from './read-in-force.ts'

/** A fact in force, with where it was said. */
export interface HeldFact {
  fact: Fact<number>
  n: number
  place: Place
}

/** Reads on until a page is full or nothing is left. */
export async function fill<Row, Cursor>(
  most: number,
  after: Cursor | undefined,
  read: (
    after: Cursor | undefined,
    most: number,
  ) => Promise<{ kept: Row[]; next: Cursor | undefined }>,
): Promise<Row[]> {
  const page: Row[] = []
  let from = after
  while (true) {
    const { kept, next } = await read(from, Math.max(most - page.length, 20))
    page.push(...kept)
    if (page.length >= most || next === undefined) return page.slice(0, most)
    from = next
  }
}

/** Of facts as read, those in force as of a moment. */
export async function keepHeld(
  database: Database,
  facts: HeldFact[],
  asOf: Ms,
): Promise<HeldFact[]> {
  const holding = await inForceAmong(
    database,
    facts.map(({ place }) => place),
    asOf,
  )
  return facts.filter(({ place }) => holding.has(placeText(place)))
}

/** The columns heldFact reads. */
export const FACT =
  'topic, partition, "offset", n, what, of_no, other_no, via_no, amount, at, detail'

// biome-ignore lint/suspicious/noExplicitAny: a row as the driver gives it
export function heldFact(row: any): HeldFact {
  const { n, what, of_no, other_no, via_no, amount, at, detail } = row
  const fact: Record<string, unknown> = { what, of: of_no, at: Number(at), ...detail }
  if (other_no !== null) fact.other = other_no
  if (via_no !== null) fact.via = via_no
  if (amount !== null) fact.amount = amount
  return { fact: fact as unknown as Fact<number>, n, place: readPlace(row) }
}

export function readPlace(row: { topic: string; partition: number; offset: string }): Place {
  return { topic: row.topic, partition: row.partition, offset: BigInt(row.offset) }
}
