// Where nothing mixes in a vessel: the followed share of every slot, were what was put in first taken first, and were
// what was put in last. What does mix mixes as ever, so that each order is followed to the end.
import { FRESH, LAYERED, SET, TAKEN, TOLERANCE, takenOf } from './op.ts'
import { Pile } from './pile.ts'

/** Numbers by slot and vessel: one for each order. */
export const ORDERS = 2
const FIRST = 0
const LAST = 1

/** What the walk carries from page to page. */
export interface OrderSweep {
  /** By slot and order: the followed share. */
  share: Float64Array
  /** By vessel and order: the amount followed. */
  held: Float64Array
  /** By vessel. Unit: that of the amounts. */
  mass: Float64Array
  /** By slot: 1 where what is written does not count. */
  pinned: Uint8Array
  /** By cell: 1 where all that is in the vessel counts as followed. */
  flood: Uint8Array | undefined
  /** By vessel in which nothing mixes and order: what lies in it. */
  piles: Map<number, readonly [Pile, Pile]>
}

/** Carries both orders through a page. */
export function orderPage(sweep: OrderSweep, ops: Int32Array, end: number): void {
  const { share, held, mass, pinned, flood } = sweep
  let [first, last, M] = [0, 0, 0]
  let vessel = -1
  let tolerance = 0
  let flooded = false
  let piles: readonly [Pile, Pile] | undefined
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    const s = ORDERS * slot
    if (slot >= 0 && g > 0) {
      const x = flooded ? 1 : share[s + FIRST]!
      const y = flooded ? 1 : share[s + LAST]!
      piles?.[FIRST].put(g, x)
      piles?.[LAST].put(g, y)
      first += g * x
      last += g * y
      M += g
    } else if (slot >= 0) {
      const taken = Math.min(M, -g)
      const a = piles ? piles[FIRST].take(taken) : M > 0 ? (first / M) * taken : 0
      const b = piles ? piles[LAST].take(taken) : M > 0 ? (last / M) * taken : 0
      // A twentieth too much is weighing; beyond it somebody poured in what nobody reported.
      const of = 20 * (-g - M) > -g ? -g : taken
      if (pinned[slot] !== 1) {
        share[s + FIRST] = of > 0 ? a / of : 0
        share[s + LAST] = of > 0 ? b / of : 0
      }
      M -= taken
      first = M > 0 ? first - a : 0
      last = M > 0 ? last - b : 0
    } else if (slot <= FRESH) {
      if (vessel >= 0) {
        held[ORDERS * vessel + FIRST] = first
        held[ORDERS * vessel + LAST] = last
        mass[vessel] = M
      }
      vessel = FRESH - 1 - slot
      first = vessel >= 0 ? held[ORDERS * vessel + FIRST]! : 0
      last = vessel >= 0 ? held[ORDERS * vessel + LAST]! : 0
      M = vessel >= 0 ? mass[vessel]! : 0
      piles = undefined
      flooded = flood !== undefined && flood[g] === 1
      if (flooded) [first, last] = [M, M]
    } else if (slot === LAYERED && !flooded && takenOf(g) !== TAKEN['by choice']) {
      piles = pilesOf(sweep, vessel, { M, first, last }, takenOf(g))
    } else if (slot === SET) {
      // What is missing went as it lay; a surplus beyond what weighing comes to nobody reported.
      const more = g - M <= tolerance && M > 0 ? g / M : 1
      if (piles && g < M) {
        first -= piles[FIRST].take(M - g)
        last -= piles[LAST].take(M - g)
      } else if (g === 0) {
        first = 0
        last = 0
      } else {
        first *= more
        last *= more
        for (const pile of piles ?? []) {
          pile.stretch(more)
          pile.put(g - M * more, 0)
        }
      }
      M = g
      tolerance = 0
    } else if (slot === TOLERANCE) {
      tolerance = g
    }
  }
  if (vessel >= 0) {
    held[ORDERS * vessel + FIRST] = first
    held[ORDERS * vessel + LAST] = last
    mass[vessel] = M
  }
}

/** What lay there before is one layer. An order that is said is kept in both. */
function pilesOf(
  { piles }: OrderSweep,
  vessel: number,
  { M, first, last }: { M: number; first: number; last: number },
  taken: number,
): readonly [Pile, Pile] {
  let found = piles.get(vessel)
  if (!found || M === 0) {
    found = [
      new Pile(taken === TAKEN['last in first out'] ? 'last' : 'first'),
      new Pile(taken === TAKEN['first in first out'] ? 'first' : 'last'),
    ]
    found[FIRST].put(M, first / M)
    found[LAST].put(M, last / M)
    piles.set(vessel, found)
  }
  return found
}
