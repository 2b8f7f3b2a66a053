// Castings as they really are, laid out as an answer lays them out: by the thing they stand in, or were
// last seen in, and by what somebody who sorts them there can tell.
import type { Truth } from '../truth.ts'

/** Castings that an answer cannot tell apart. */
export interface Cell {
  /** Things they may be answered for, the likeliest first: where they stand, then back along their way. */
  things: string[]
  product: string
  /** Cast into the metal. */
  cavity: string
  /** Thrown out on the way, so in no heap that is sorted. */
  scrapped: boolean
  castings: number
  /** By pour. */
  pours: Map<string, number>
}

export function cellsOf(truth: Truth): Cell[] {
  const cells = new Map<string, Cell>()
  for (const { pour, product, cavity, castings, path, place } of truth.castings.groups()) {
    // Scrap is answered for where it was thrown out, and what still stands in its mold with its pour.
    const scrapped = place === 'scrap' || place.startsWith('lot:')
    const stands = place === 'line' || scrapped ? [] : [place]
    const things = [...new Set([...stands, ...path.toReversed(), `pour:${pour}`])]
    const key = `${pileKey(things[0]!, product)} ${cavity} ${scrapped}`
    let cell = cells.get(key)
    if (!cell) {
      cell = { things, product, cavity, scrapped, castings: 0, pours: new Map() }
      cells.set(key, cell)
    }
    cell.castings += castings
    cell.pours.set(pour, (cell.pours.get(pour) ?? 0) + castings)
  }
  return [...cells.values()]
}

export function pileKey(thing: string, product: string): string {
  return `${thing} ${product}`
}

/** Castings of a cell whose metal holds at least a part of the lot. */
export function trulyIn(cell: Cell, shares: ReadonlyMap<string, number>, share: number): number {
  let castings = 0
  for (const [pour, some] of cell.pours) {
    if ((shares.get(`pour:${pour}`) ?? 0) >= share) castings += some
  }
  return castings
}
