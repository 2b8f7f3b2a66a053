// Which castings of the truth an answer means by each of its rows, worked out once for all questions.
import type { View } from '../../metal/followed.ts'
import { type Cell, cellKey } from './true-castings.ts'

/** Castings of one thing and product, as an answer gathers them. */
export interface Pile {
  /** Places of its rows among the nodes of an answer. */
  at: number[]
  /** Castings that really stand there. */
  here: Cell[]
  /** Castings that stand in things no report named, and went through it last. */
  elsewhere: Cell[]
}

export interface Layout {
  piles: Pile[]
  /** Castings of which no answer says anything. */
  unseen: Cell[]
}

export function layOut({ castings, things }: View, cells: readonly Cell[]): Layout {
  const piles = new Map<string, Pile>()
  let at = 0
  for (const { thing, product } of castings.nodes()) {
    const key = cellKey(things.name(thing), product)
    let pile = piles.get(key)
    if (!pile) {
      pile = { at: [], here: [], elsewhere: [] }
      piles.set(key, pile)
    }
    pile.at.push(at++)
  }
  const unseen: Cell[] = []
  for (const cell of cells) {
    // Where products were lost on the way, it is answered for all of them.
    const [first, ...others] = cell.things.map(
      (thing) => piles.get(cellKey(thing, cell.product)) ?? piles.get(cellKey(thing, '')),
    )
    const other = others.find((pile) => pile !== undefined)
    if (first) first.here.push(cell)
    else if (other) other.elsewhere.push(cell)
    else unseen.push(cell)
  }
  return { piles: [...piles.values()], unseen }
}
