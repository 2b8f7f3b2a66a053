// What shares likely are, where best keeps to what was said. Of each kilogram charged came what gauges tell. Where
// nothing mixes in a vessel a share has three values: were all mixed, the first put in taken first, and the last. What
// does mix mixes as ever, so that each is followed to the end.
import { causeOf, FRESH, LAYERED, SET, SHARING, TAKEN, TOLERANCE, takenOf } from './op.ts'
import { Pile } from './pile.ts'
import type { Yields } from './yields.ts'

/** Numbers by slot and vessel: one for each way. */
export const WAYS = 3
export const MIXED = 0
export const FIRST = 1
export const LAST = 2

/** What the walk carries from page to page. */
export interface LikelySweep {
  /** By slot and way: the followed share. */
  share: Float64Array
  /** By vessel and way: the amount followed. */
  held: Float64Array
  /** By vessel. Unit: that of the amounts. */
  mass: Float64Array
  /** By slot: part of the doubt that gauges leave, as a mean over what is there; by vessel, times its mass. */
  left: Float64Array
  heldLeft: Float64Array
  /** By slot: 1 where what is written does not count. */
  pinned: Uint8Array
  /** By cell: 1 where all that is in the vessel counts as followed. */
  flood: Uint8Array | undefined
  /** By vessel in which nothing mixes: what lies in it, taken from the first and from the last. */
  piles: Map<number, Piles>
  yields: Yields
  /** By cell, seconds. */
  at: Uint32Array
}

type Piles = readonly [first: Pile, last: Pile]

/** Carries all ways through a page. */
export function likelyPage(sweep: LikelySweep, ops: Int32Array, end: number): void {
  const { share, held, mass, left: lefts, heldLeft, pinned, flood, yields, at } = sweep
  let [mixed, first, last, left, M] = [0, 0, 0, 0, 0]
  let [vessel, cell] = [-1, 0]
  let tolerance = 0
  let [times, leaves] = [1, NONE]
  let flooded = false
  let piles: Piles | undefined
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const s = WAYS * slot
    if (slot >= 0 && ops[i + 1]! > 0) {
      const g = times * ops[i + 1]!
      left += g * (leaves === NONE ? lefts[slot]! : leaves)
      times = 1
      leaves = NONE
      const x = flooded ? 1 : share[s + FIRST]!
      const y = flooded ? 1 : share[s + LAST]!
      piles?.[0].put(g, x)
      piles?.[1].put(g, y)
      mixed += g * (flooded ? 1 : share[s + MIXED]!)
      first += g * x
      last += g * y
      M += g
    } else if (slot >= 0) {
      const g = -ops[i + 1]!
      const taken = Math.min(M, g)
      const part = M > 0 ? taken / M : 0
      const a = piles ? piles[0].take(taken) : first * part
      const b = piles ? piles[1].take(taken) : last * part
      // A twentieth too much is weighing; beyond it somebody poured in what nobody reported.
      const of = 20 * (g - M) > g ? g : taken
      lefts[slot] = M > 0 ? left / M : 1
      if (pinned[slot] !== 1) {
        share[s + MIXED] = of > 0 ? (mixed * part) / of : 0
        share[s + FIRST] = of > 0 ? a / of : 0
        share[s + LAST] = of > 0 ? b / of : 0
      }
      M -= taken
      left *= 1 - part
      mixed = M > 0 ? mixed * (1 - part) : 0
      first = M > 0 ? first - a : 0
      last = M > 0 ? last - b : 0
    } else if (slot <= FRESH) {
      if (vessel >= 0) {
        held[WAYS * vessel + MIXED] = mixed
        held[WAYS * vessel + FIRST] = first
        held[WAYS * vessel + LAST] = last
        heldLeft[vessel] = left
        mass[vessel] = M
      }
      vessel = FRESH - 1 - slot
      cell = ops[i + 1]!
      mixed = vessel >= 0 ? held[WAYS * vessel + MIXED]! : 0
      first = vessel >= 0 ? held[WAYS * vessel + FIRST]! : 0
      last = vessel >= 0 ? held[WAYS * vessel + LAST]! : 0
      left = vessel >= 0 ? heldLeft[vessel]! : 0
      M = vessel >= 0 ? mass[vessel]! : 0
      piles = undefined
      times = 1
      leaves = NONE
      flooded = flood !== undefined && flood[cell] === 1
      if (flooded) [mixed, first, last] = [M, M, M]
    } else if (slot === SHARING) {
      const known = yields.of(causeOf(ops[i + 1]!), at[cell]!)
      times = known.times
      leaves = known.left
    } else if (slot === LAYERED && !flooded) {
      piles = pilesOf(sweep, vessel, { M, first, last }, takenOf(ops[i + 1]!))
    } else if (slot === SET) {
      const g = ops[i + 1]!
      // What is missing went as it lay; a surplus beyond what weighing comes to nobody reported.
      const more = g - M <= tolerance && M > 0 ? g / M : 1
      mixed = g > 0 ? mixed * more : 0
      if (piles && g < M) {
        first -= piles[0].take(M - g)
        last -= piles[1].take(M - g)
      } else {
        first = g > 0 ? first * more : 0
        last = g > 0 ? last * more : 0
        for (const pile of piles ?? []) {
          pile.stretch(more)
          pile.put(g - M * more, 0)
        }
      }
      left = M > 0 ? (left * g) / M : g
      M = g
      tolerance = 0
    } else if (slot === TOLERANCE) {
      tolerance = ops[i + 1]!
    }
  }
  if (vessel >= 0) {
    held[WAYS * vessel + MIXED] = mixed
    held[WAYS * vessel + FIRST] = first
    held[WAYS * vessel + LAST] = last
    heldLeft[vessel] = left
    mass[vessel] = M
  }
}

/** Carries masses and what gauges leave of doubts through a page that reads nothing of what is followed. */
export function restPage(
  { mass, left: lefts, heldLeft, yields, at }: LikelySweep,
  ops: Int32Array,
  end: number,
): void {
  let [left, M] = [0, 0]
  let [vessel, cell] = [-1, 0]
  let [times, leaves] = [1, NONE]
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const amount = ops[i + 1]!
    if (slot >= 0 && amount > 0) {
      const g = times * amount
      left += g * (leaves === NONE ? lefts[slot]! : leaves)
      times = 1
      leaves = NONE
      M += g
    } else if (slot >= 0) {
      const taken = Math.min(M, -amount)
      lefts[slot] = M > 0 ? left / M : 1
      left *= 1 - (M > 0 ? taken / M : 0)
      M -= taken
    } else if (slot <= FRESH) {
      if (vessel >= 0) {
        heldLeft[vessel] = left
        mass[vessel] = M
      }
      vessel = FRESH - 1 - slot
      cell = amount
      left = vessel >= 0 ? heldLeft[vessel]! : 0
      M = vessel >= 0 ? mass[vessel]! : 0
      times = 1
      leaves = NONE
    } else if (slot === SHARING) {
      const known = yields.of(causeOf(amount), at[cell]!)
      times = known.times
      leaves = known.left
    } else if (slot === SET) {
      left = M > 0 ? (left * amount) / M : amount
      M = amount
    }
  }
  if (vessel >= 0) {
    heldLeft[vessel] = left
    mass[vessel] = M
  }
}

const NONE = -1

/** What lay there before is one layer. An order that is said is kept in both; what is taken by choice, in none. */
function pilesOf(
  { piles }: LikelySweep,
  vessel: number,
  { M, first, last }: { M: number; first: number; last: number },
  taken: number,
): Piles | undefined {
  if (taken === TAKEN['by choice']) return undefined
  let found = piles.get(vessel)
  if (!found || M === 0) {
    found = [
      new Pile(taken === TAKEN['last in first out'] ? 'last' : 'first'),
      new Pile(taken === TAKEN['first in first out'] ? 'first' : 'last'),
    ]
    found[0].put(M, first / M)
    found[1].put(M, last / M)
    piles.set(vessel, found)
  }
  return found
}
