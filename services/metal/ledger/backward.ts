// The way back, one page of pairs at a time: where weighted slots came from. It walks the pairs of the
// way forward in reverse, so that the two are transposes of each other. Slot 0 is what nobody reported.

import { FRESH, OLDER, SET, TOLERANCE } from './op.ts'

/** What the way back needs to know of masses: whole numbers run back exactly, the rest is noted. */
export interface Notes {
  /** Masses before a SET, before a tap that emptied, and at the end of a cell without a vessel. */
  mass: Float64Array
  masses: number
  /** Where in its page each cell begins. */
  head: Int32Array
  heads: number
}

/** Runs the masses through a page and notes what cannot be run back. */
export function massPage(mass: Float64Array, notes: Notes, ops: Int32Array, end: number): void {
  makeRoom(notes, end)
  const { mass: noted, head } = notes
  let { masses, heads } = notes
  let M = 0
  let vessel = -1
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    if (slot >= 0) {
      M += ops[i + 1]!
      if (M <= 0) {
        noted[masses++] = M - ops[i + 1]!
        M = 0
      }
    } else if (slot <= FRESH) {
      if (vessel >= 0) mass[vessel] = M
      else if (i > 0) noted[masses++] = M
      head[heads++] = i
      vessel = FRESH - 1 - slot
      M = vessel >= 0 ? mass[vessel]! : 0
    } else if (slot === SET) {
      noted[masses++] = M
      M = ops[i + 1]!
    }
  }
  if (vessel >= 0) mass[vessel] = M
  else if (end > 0) noted[masses++] = M
  notes.masses = masses
  notes.heads = heads
}

// A page notes at most one mass for each pair, and a head besides.
function makeRoom(notes: Notes, words: number): void {
  if (notes.masses + words > notes.mass.length) {
    const wider = new Float64Array(2 * notes.mass.length + words)
    wider.set(notes.mass.subarray(0, notes.masses))
    notes.mass = wider
  }
  if (notes.heads + words > notes.head.length) {
    const wider = new Int32Array(2 * notes.head.length + words)
    wider.set(notes.head.subarray(0, notes.heads))
    notes.head = wider
  }
}

/** What the way back carries from page to page. */
export interface Return {
  /** By slot: weight not yet passed back; what is left at the end came in there. */
  rest: Float64Array
  /** By slot: weight that passed. */
  through: Float64Array
  /** By vessel: weight on what it holds. */
  held: Float64Array
  mass: Float64Array
  notes: Notes
  /** By cell: 1 where nothing passes back through it. */
  cut: Uint8Array | undefined
  /** Whether weight passes on to what a vessel held before. */
  carry: boolean
}

/**
 * Passes weights back through a page; masses as `massPage` left them. The vessel carries a weight:
 * taps add theirs, and each inflow takes its part by mass.
 */
export function backwardPage(back: Return, ops: Int32Array, end: number): void {
  const { rest, through, held, mass, notes, cut, carry } = back
  const { mass: noted, head: starts } = notes
  let { masses, heads } = notes
  let last = end
  while (last > 0) {
    const head = starts[--heads]!
    const vessel = FRESH - 1 - ops[head]!
    const open = cut === undefined || cut[ops[head + 1]!] === 0 || isIdle(ops, head, last)
    let M = vessel >= 0 ? mass[vessel]! : noted[--masses]!
    let weight = vessel >= 0 && open ? held[vessel]! : 0
    for (let i = last - 2; i > head; ) {
      let slot = ops[i]!
      let g = ops[i + 1]!
      if (slot >= 0 && g > 0) {
        // Inflows in a row take alike, gram for gram; the head stops the walk.
        const each = weight / M
        do {
          M -= g
          rest[slot]! += g * each
          i -= 2
          slot = ops[i]!
          g = ops[i + 1]!
        } while (slot >= 0 && g > 0)
        weight = each * M
        continue
      }
      if (slot >= 0) {
        const w = rest[slot]!
        rest[slot] = 0
        through[slot]! += w
        if (M > 0) {
          M -= g
          if (open) weight += w
        } else {
          M = noted[--masses]!
          weight = open ? w : 0
          if (-20 * (g + M) > -g) {
            rest[0]! += (weight * (g + M)) / g
            weight *= M / -g
          }
        }
      } else if (slot === SET) {
        M = noted[--masses]!
        const tolerance = ops[i - 2] === TOLERANCE ? ops[i - 1]! : 0
        if (g === 0) weight = 0
        else if (M === 0 || g - M > tolerance) {
          rest[0]! += (weight * (g - M)) / g
          weight *= M / g
        }
      }
      i -= 2
    }
    if (vessel >= 0) {
      mass[vessel] = M
      held[vessel] = carry && open ? weight : 0
    }
    last = head
  }
  notes.masses = masses
  notes.heads = heads
}

// A cell that was taken out: nothing but its head, or a link to its older version besides.
function isIdle(ops: Int32Array, head: number, end: number): boolean {
  return end - head === 2 || (end - head === 4 && ops[head + 2] === OLDER)
}
