// The arithmetic of the ledger, one page of pairs at a time. Forward: what share of each slot is the
// followed stuff. Backward: where weighted slots came from. Both walk the same pairs, so they are
// transposes of each other. A is the amount followed in the vessel, M the mass in it.

import { FRESH, KEEP, OLDER, PEEK, SET, TOLERANCE, UNKNOWN } from './op.ts'

/** Mass of a vessel before its first op: only there UNKNOWN means anything. */
export const UNTOUCHED = -1

/** What a sweep carries from page to page. */
export interface Sweep {
  /** By slot: the followed share; NaN reads as unrecorded. */
  share: Float64Array
  /** By vessel: amount followed (forward and best), share (bounds), weight per gram (backward). */
  held: Float64Array
  /** By vessel, UNTOUCHED at first; in bounds the least mass. Unit: that of the amounts. */
  mass: Float64Array
  /** By vessel: the greatest mass; bounds only. */
  most: Float64Array
  /** What unrecorded stuff counts. */
  unrecorded: number
  /** By cell, seconds; with `from` unrecorded stuff counts 1 from then on and 0 before. */
  at: Uint32Array
  from: number | undefined
  /** By slot: 1 where `force` stands in place of what is written. */
  forced: Uint8Array | undefined
  force: Map<number, number>
  /** Where PEEK notes share and mass, by its number. */
  seen: { share: number[]; mass: number[] }
}

/** Carries the shares through a page: everything kept, nothing in a vessel that nobody reported. */
export function forwardPage(sweep: Sweep, ops: Int32Array, end: number): void {
  const { share, held, mass, at, from, forced, force, seen } = sweep
  let u = sweep.unrecorded
  let A = 0
  let M = 0
  let vessel = -1
  let head = 0
  let first = false
  let tolerance = 0
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (g > 0) {
        const x = share[slot]!
        A += g * (Number.isNaN(x) ? u : x)
        M += g
      } else {
        let c: number
        if (M + g >= 0) {
          c = A / M
          M += g
          A = M * c
        } else {
          // A twentieth too much is weighing; beyond it somebody poured in what nobody reported.
          c = -20 * (g + M) <= -g ? A / M : (A - (g + M) * u) / -g
          A = 0
          M = 0
        }
        share[slot] = forced === undefined || forced[slot] === 0 ? c : force.get(slot)!
      }
    } else if (slot <= FRESH) {
      if (vessel >= 0 && i - head > 2) {
        held[vessel] = A
        mass[vessel] = M
      }
      head = i
      vessel = FRESH - 1 - slot
      A = vessel >= 0 ? held[vessel]! : 0
      M = vessel >= 0 ? mass[vessel]! : 0
      first = M < 0
      if (first) M = 0
      if (from !== undefined) u = at[g]! >= from ? 1 : 0
    } else if (slot === TOLERANCE) {
      tolerance = g
    } else if (slot === SET) {
      if (g === 0) A = 0
      else if (M === 0 || g - M > tolerance) A += (g - M) * u
      else A *= g / M
      M = g
      tolerance = 0
    } else if (slot === UNKNOWN) {
      if (first && from !== undefined) {
        A += g * u
        M += g
      }
    } else if (slot === OLDER) {
      head = i
    } else if (slot === PEEK) {
      seen.share[g] = M > 0 ? A / M : 0
      seen.mass[g] = M
    }
  }
  if (vessel >= 0 && end - head > 2) {
    held[vessel] = A
    mass[vessel] = M
  }
}

/**
 * The same with `sign` 1 for the most a share can be, -1 for the least, whatever KEEP kept and
 * UNKNOWN held. Mass runs as an interval. A mix of share c and mass M with share x lies between c
 * and x, nearer to c the larger M: so the extremes are at the ends of the interval.
 */
export function boundPage(sweep: Sweep, ops: Int32Array, end: number, sign: 1 | -1): void {
  const { share, held, mass, most, at, from, forced, force, seen } = sweep
  let u = sweep.unrecorded
  let c = 0
  let low = 0
  let high = 0
  let vessel = -1
  let head = 0
  let first = false
  let tolerance = 0
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (g > 0) {
        const y = share[slot]!
        const x = Number.isNaN(y) ? u : y
        const M = sign * (c - x) > 0 ? high : low
        c = (c * M + g * x) / (M + g)
        low += g
        high += g
      } else {
        let y = c
        if (-20 * (g + low) > -g) {
          const atLow = (c * low - (g + low) * u) / -g
          const atHigh = -20 * (g + high) > -g ? (c * high - (g + high) * u) / -g : c
          y = sign * (atLow - atHigh) > 0 ? atLow : atHigh
        }
        share[slot] = forced === undefined || forced[slot] === 0 ? y : force.get(slot)!
        low = Math.max(0, low + g)
        high = Math.max(0, high + g)
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
      first = low < 0
      if (first) low = 0
      if (from !== undefined) u = at[g]! >= from ? 1 : 0
    } else if (slot === TOLERANCE) {
      tolerance = g
    } else if (slot === SET) {
      if (g > 0 && (low === 0 || g - low > tolerance)) {
        const atLow = (c * low + (g - low) * u) / g
        const full = high === 0 || g - high > tolerance ? (c * high + (g - high) * u) / g : c
        c = sign * (atLow - full) > 0 ? atLow : full
      }
      low = g
      high = g
      tolerance = 0
    } else if (slot === KEEP) {
      low = 0
    } else if (slot === UNKNOWN) {
      if (first) {
        const withIt = (c * low + g * u) / (low + g)
        if (high === 0 || sign * (withIt - c) > 0) c = withIt
        high += g
      }
    } else if (slot === OLDER) {
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
  stack: Float64Array
  top: number
}

/**
 * Runs the masses through a page and notes what cannot be run back: the mass before a SET, before a
 * tap that emptied, and at the end of a cell without a vessel.
 */
export function massPage(mass: Float64Array, notes: Notes, ops: Int32Array, end: number): void {
  const stack = roomFor(notes, end)
  let top = notes.top
  let M = 0
  let vessel = -1
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (M + g > 0) M += g
      else {
        stack[top++] = M
        M = 0
      }
    } else if (slot <= FRESH) {
      if (vessel >= 0) mass[vessel] = M
      else if (i > 0) stack[top++] = M
      vessel = FRESH - 1 - slot
      M = vessel >= 0 ? mass[vessel]! : 0
    } else if (slot === SET) {
      stack[top++] = M
      M = g
    }
  }
  if (vessel >= 0) mass[vessel] = M
  else if (end > 0) stack[top++] = M
  notes.top = top
}

function roomFor(notes: Notes, more: number): Float64Array {
  if (notes.top + more > notes.stack.length) {
    const wider = new Float64Array(2 * notes.stack.length + more)
    wider.set(notes.stack.subarray(0, notes.top))
    notes.stack = wider
  }
  return notes.stack
}

/** What the way back carries from page to page. */
export interface Return {
  /** By slot: weight not yet passed back; what is left at the end came in there. */
  rest: Float64Array
  /** By slot: weight that passed. */
  through: Float64Array
  /** By vessel: weight per unit of mass. */
  held: Float64Array
  mass: Float64Array
  notes: Notes
  /** Nothing passes back through these cells. */
  cut: Set<number> | undefined
  /** Whether weight passes on to what a vessel held before. */
  carry: boolean
}

/** Passes weights back through a page; masses as `massPage` left them. */
export function backwardPage(back: Return, ops: Int32Array, end: number): void {
  const { rest, through, held, mass, notes, cut, carry } = back
  const stack = notes.stack
  let top = notes.top
  const heads: number[] = []
  for (let i = 0; i < end; i += 2) if (ops[i]! <= FRESH) heads.push(i)
  let last = end
  for (let h = heads.length - 1; h >= 0; h--) {
    const head = heads[h]!
    const vessel = FRESH - 1 - ops[head]!
    const idle = last - head === 2 || (last - head === 4 && ops[head + 2] === OLDER)
    const open = cut === undefined || idle || !cut.has(ops[head + 1]!)
    let M = vessel >= 0 ? mass[vessel]! : stack[--top]!
    let a = vessel >= 0 && open ? held[vessel]! : 0
    for (let i = last - 2; i > head; i -= 2) {
      const slot = ops[i]!
      const g = ops[i + 1]!
      if (slot >= 0) {
        if (g > 0) {
          M -= g
          rest[slot]! += g * a
        } else {
          const w = rest[slot]!
          rest[slot] = 0
          through[slot]! += w
          const weight = open ? w : 0
          if (M > 0) {
            const inverse = 1 / (M - g)
            a = (a * M + weight) * inverse
            M -= g
          } else {
            M = stack[--top]!
            if (-20 * (g + M) <= -g) a = weight / M
            else {
              a = weight / -g
              rest[0]! -= (g + M) * a
            }
          }
        }
      } else if (slot === SET) {
        M = stack[--top]!
        const tolerance = ops[i - 2] === TOLERANCE ? ops[i - 1]! : 0
        if (g === 0) a = 0
        else if (M === 0 || g - M > tolerance) rest[0]! += (g - M) * a
        else a *= g / M
      }
    }
    if (vessel >= 0) {
      mass[vessel] = M
      held[vessel] = carry && open ? a : 0
    }
    last = head
  }
  notes.top = top
}
