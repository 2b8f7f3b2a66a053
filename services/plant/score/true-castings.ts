// Castings as they really are, laid out as an answer lays them out: by the thing they stand in, or were
// last seen in, and by product. Cavities are left out: after a mixed load they are only expected.
import type { Truth } from '../truth.ts'

/** Castings that an answer cannot tell apart. */
export interface Cell {
  /** Things they may be answered for, the likeliest first: where they stand, then back along their way. */
  things: string[]
  product: string
  castings: number
  /** By pour. */
  pours: Map<string, number>
}

export function cellsOf(truth: Truth): Cell[] {
  const cells = new Map<string, Cell>()
  for (const { pour, product, castings, path, place } of truth.castings.groups()) {
    // Scrap is answered for where it was thrown out, and what still stands in its mold with its pour.
    const stands = place === 'line' || place === 'scrap' || place.startsWith('lot:') ? [] : [place]
    const things = [...new Set([...stands, ...path.toReversed(), `pour:${pour}`])]
    const key = cellKey(things[0]!, product)
    let cell = cells.get(key)
    if (!cell) {
      cell = { things, product, castings: 0, pours: new Map() }
      cells.set(key, cell)
    }
    cell.castings += castings
    cell.pours.set(pour, (cell.pours.get(pour) ?? 0) + castings)
  }
  return [...cells.values()]
}

export function cellKey(thing: string, product: string): string {
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
