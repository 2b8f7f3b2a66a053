// The arithmetic of the ledger, one page of pairs at a time. Forward: what share of each slot is the
// followed stuff. Backward: where weighted slots came from. Both walk the same pairs, so they are
// transposes of each other. Slot 0 is what nobody reported.
//
// Every loop is written for speed: no calls, no objects, a division only where a mix is drawn from.

import { FRESH, KEEP, OLDER, PEEK, SET, TOLERANCE, UNKNOWN } from './op.ts'

/** What a sweep forward carries from page to page. */
export interface Sweep {
  /** By slot: the followed share. */
  share: Float64Array
  /** By vessel: amount followed. */
  held: Float64Array
  /** By vessel. Unit: that of the amounts. */
  mass: Float64Array
  /** By slot: 1 where `force` stands in place of what is written. */
  forced: Uint8Array | undefined
  force: Map<number, number>
}

/** Carries shares through a page: everything was kept, and what is unrecorded is not followed. */
export function forwardPage(sweep: Sweep, ops: Int32Array, end: number): void {
  const { share, held, mass, forced, force } = sweep
  let A = 0
  let M = 0
  let c = 0
  let mixed = true
  let vessel = -1
  let tolerance = 0
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (g > 0) {
        A += g * share[slot]!
        M += g
        mixed = true
      } else {
        // Taps in a row have one composition.
        if (mixed) {
          c = A / M
          mixed = false
        }
        M += g
        if (M >= 0) A = M * c
        else {
          // A twentieth too much is weighing; beyond it somebody poured in what nobody reported.
          if (-20 * M > -g) c = A / -g
          A = 0
          M = 0
          mixed = true
        }
        share[slot] = forced === undefined || forced[slot] === 0 ? c : force.get(slot)!
      }
    } else if (slot <= FRESH) {
      if (vessel >= 0) {
        held[vessel] = A
        mass[vessel] = M
      }
      vessel = FRESH - 1 - slot
      A = vessel >= 0 ? held[vessel]! : 0
      M = vessel >= 0 ? mass[vessel]! : 0
      mixed = true
    } else if (slot === SET) {
      if (g === 0) A = 0
      else if (g - M <= tolerance && M > 0) A *= g / M
      M = g
      mixed = true
      tolerance = 0
    } else if (slot === TOLERANCE) {
      tolerance = g
    }
  }
  if (vessel >= 0) {
    held[vessel] = A
    mass[vessel] = M
  }
}

/** Mass of a vessel before its first op: only there UNKNOWN means anything. */
export const UNTOUCHED = -1

/** What a sweep with doubt carries from page to page. */
export interface LeanSweep extends Sweep {
  /** By slot: the followed share; NaN reads as unrecorded. */
  share: Float64Array
  /** By vessel: followed share. */
  held: Float64Array
  /** By vessel, UNTOUCHED at first: the least mass. */
  mass: Float64Array
  /** By vessel: the greatest mass. */
  most: Float64Array
  /** 1 for the most a share can be, -1 for the least, 0 for what everything kept gives. */
  lean: 1 | -1 | 0
  /** What unrecorded stuff counts. */
  unrecorded: number
  /** By cell, seconds; with `from` unrecorded stuff counts 1 from then on and 0 before. */
  at: Uint32Array
  from: number | undefined
  /** By cell: 1 where all that is in the vessel counts as followed. */
  flood: Uint8Array | undefined
  /** Where PEEK notes share and mass, by its number. */
  seen: { share: number[]; mass: number[] }
}

/**
 * The same in general: the least or most a share can be, whatever KEEP kept and UNKNOWN held, with
 * what is unrecorded followed. Mass runs as an interval. A mix of share c and mass M with share x lies
 * between c and x, nearer to c the larger M is: so the extremes are at the ends of the interval.
 */
export function leanPage(sweep: LeanSweep, ops: Int32Array, end: number): void {
  const { share, held, mass, most, at, from, forced, force, lean, flood, seen } = sweep
  let u = sweep.unrecorded
  let c = 0
  let low = 0
  let high = 0
  let head = 0
  let vessel = -1
  let first = false
  let flooded = false
  let tolerance = 0
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (g > 0) {
        const known = share[slot]!
        const x = Number.isNaN(known) ? u : known
        const M = lean * (c - x) > 0 ? high : low
        c = flooded ? 1 : (c * M + g * x) / (M + g)
        low += g
        high += g
      } else {
        let y = c
        low += g
        high += g
        if (low < 0) {
          if (-20 * low > -g) {
            const atLow = (c * (low - g) - low * u) / -g
            const atHigh = -20 * high > -g ? (c * (high - g) - high * u) / -g : c
            y = lean * (atLow - atHigh) > 0 ? atLow : atHigh
          }
          low = 0
          if (high < 0) high = 0
        }
        share[slot] = forced === undefined || forced[slot] === 0 ? y : force.get(slot)!
      }
    } else if (slot <= FRESH) {
      if (vessel >= 0 && i - head > 2) {
        held[vessel] = c
        mass[vessel] = low
        most[vessel] = high
      }
      head = i
      vessel = FRESH - 1 - slot
      c = vessel >= 0 ? held[vessel]! : 0
      low = vessel >= 0 ? mass[vessel]! : 0
      high = vessel >= 0 ? most[vessel]! : 0
      // What mixes from nothing is always at its beginning.
      first = low < 0 || vessel < 0
      if (low < 0) low = 0
      flooded = flood !== undefined && flood[g] === 1
      if (flooded && high > 0) c = 1
      if (from !== undefined) u = at[g]! >= from ? 1 : 0
    } else if (slot === SET) {
      if (g > 0 && (low === 0 || g - low > tolerance)) {
        const atLow = (c * low + (g - low) * u) / g
        const short = high === 0 || g - high > tolerance
        const atHigh = short ? (c * high + (g - high) * u) / g : c
        c = flooded ? 1 : lean * (atLow - atHigh) > 0 ? atLow : atHigh
      }
      low = g
      high = g
      tolerance = 0
    } else if (slot === TOLERANCE) {
      tolerance = g
    } else if (slot === KEEP) {
      if (lean !== 0) low = 0
    } else if (slot === UNKNOWN) {
      if (first && (lean !== 0 || from !== undefined)) {
        const full = (c * low + g * u) / (low + g)
        if (flooded) c = 1
        else if (lean === 0 || high === 0 || lean * (full - c) > 0) c = full
        if (lean === 0) low += g
        high += g
      }
    } else if (slot === OLDER) {
      // A cell that was taken out leaves its vessel untouched.
      head = i
    } else if (slot === PEEK) {
      seen.share[g] = high > 0 ? c : 0
      seen.mass[g] = high
    }
  }
  if (vessel >= 0 && end - head > 2) {
    held[vessel] = c
    mass[vessel] = low
    most[vessel] = high
  }
}

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
  /** Nothing passes back through these cells. */
  cut: Set<number> | undefined
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
    const open = cut === undefined || !cut.has(ops[head + 1]!) || isIdle(ops, head, last)
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
