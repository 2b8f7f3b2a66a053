// Which castings of the truth an answer means by each of its rows, worked out once for all questions.

import type { CastingsNode } from '../../metal/castings/places.ts'
import type { Castings } from '../../metal/castings.ts'
import type { Things } from '../../metal/things.ts'
import { type Cell, pileKey } from './true-castings.ts'

/** Castings of one thing and product, as an answer gathers them. */
export interface Pile {
  /** Places of its rows among the nodes of an answer. */
  at: number[]
  /** Castings that really stand there. */
  here: Sorted[]
  /** Castings that stand in things no report named, and went through it last. */
  elsewhere: Sorted[]
}

/** Castings that one who sorts a pile by its rows can tell from the others: by cavity, and scrap from the rest. */
export interface Sorted {
  cell: Cell
  /** Rows they may be meant by, as places among the nodes of an answer. */
  at: number[]
  /** Whether a row says what they are; else they are kept only where all of these rows are. */
  named: boolean
}

/** Whether one who sorts a pile by the rows that an answer calls affected keeps these castings. */
export function isKept({ at, named }: Sorted, called: (row: number) => boolean): boolean {
  return named ? at.some(called) : at.every(called)
}

export interface Layout {
  piles: Pile[]
  /** Castings of which no answer says anything. */
  unseen: Cell[]
}

export function layOut(
  { castings, things }: { castings: Pick<Castings, 'nodes'>; things: Pick<Things, 'name'> },
  cells: readonly Cell[],
): Layout {
  const piles = new Map<string, Pile>()
  const rows: CastingsNode[] = []
  for (const row of castings.nodes()) {
    const key = pileKey(things.name(row.thing), row.product)
    let pile = piles.get(key)
    if (!pile) {
      pile = { at: [], here: [], elsewhere: [] }
      piles.set(key, pile)
    }
    pile.at.push(rows.push(row) - 1)
  }
  const unseen: Cell[] = []
  for (const cell of cells) {
    // Where products were lost on the way, it is answered for all of them.
    const [first, ...others] = cell.things.map(
      (thing) => piles.get(pileKey(thing, cell.product)) ?? piles.get(pileKey(thing, '')),
    )
    const other = others.find((pile) => pile !== undefined)
    if (first) first.here.push(sorted(cell, first, rows))
    else if (other) other.elsewhere.push(sorted(cell, other, rows))
    else unseen.push(cell)
  }
  return { piles: [...piles.values()], unseen }
}

function sorted(cell: Cell, pile: Pile, rows: readonly CastingsNode[]): Sorted {
  const alike = pile.at.filter((i) => rows[i]!.cavity === cell.cavity || rows[i]!.cavity === '')
  const same = alike.filter((i) => (rows[i]!.place === 'SCRAPPED') === cell.scrapped)
  if (same.length > 0) return { cell, at: same, named: true }
  return { cell, at: alike.length > 0 ? alike : pile.at, named: false }
}
