// The way forward, one page of pairs at a time: what share of each slot is the followed stuff. Slot 0 is
// what nobody reported. The loops are written for speed: no calls, no objects, few divisions.

import { isGone, leastLeft, leastOfTap, mostLeft, mostOfTap } from './layers.ts'
import { FRESH, KEEP, LAYERED, OLDER, PEEK, SET, TOLERANCE, turnoverOf, UNKNOWN } from './op.ts'

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

/** Whether a page reads any of the marked slots. */
export function reads(marked: Uint8Array, ops: Int32Array, end: number): boolean {
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    if (slot >= 0 && ops[i + 1]! > 0 && marked[slot] === 1) return true
  }
  return false
}

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
  /** By vessel: put in since what is followed came last, and the most held since. */
  passed: Float64Array
  full: Float64Array
  /** By vessel: the greatest share put in since it was empty. */
  peak: Float64Array
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
  const { passed, full, peak } = sweep
  let u = sweep.unrecorded
  let c = 0
  let low = 0
  let high = 0
  let head = 0
  let vessel = -1
  let first = false
  let flooded = false
  let tolerance = 0
  /** Where nothing mixes: thousandths of a full after which it does; below 0 where all is mixed. */
  let layered = -1
  let richest = 0
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (g > 0) {
        const known = share[slot]!
        const x = Number.isNaN(known) ? u : known
        const M = lean * (c - x) > 0 ? high : low
        if (x > richest) richest = x
        if (flooded) richest = 1
        c = flooded ? 1 : (c * M + g * x) / (M + g)
        low += g
        high += g
        if (
          layered > 0 &&
          lean > 0 &&
          isGone(passed, full, vessel, x, g, high, layered) &&
          !flooded
        )
          c = 0
      } else {
        let y = c
        low += g
        high += g
        if (layered >= 0 && lean !== 0 && !flooded) {
          const highest = high - g
          const there = c * (lean > 0 ? highest : low - g)
          y =
            lean > 0
              ? mostOfTap(-g, there, highest, richest, Math.max(0, -low), u)
              : leastOfTap(-g, there, highest)
          low = Math.max(0, low)
          high = Math.max(0, high)
          c = lean > 0 ? mostLeft(there, high, richest) : leastLeft(there, -g, high)
        } else if (low < 0) {
          if (-20 * low > -g) {
            const atLow = (c * (low - g) - low * u) / -g
            const atHigh = -20 * high > -g ? (c * (high - g) - high * u) / -g : c
            y = lean * (atLow - atHigh) > 0 ? atLow : atHigh
          }
          low = 0
          if (high < 0) high = 0
        }
        if (high === 0) richest = 0
        share[slot] = forced === undefined || forced[slot] === 0 ? y : force.get(slot)!
      }
    } else if (slot <= FRESH) {
      if (vessel >= 0 && i - head > 2) {
        held[vessel] = c
        mass[vessel] = low
        most[vessel] = high
        peak[vessel] = richest
      }
      head = i
      vessel = FRESH - 1 - slot
      c = vessel >= 0 ? held[vessel]! : 0
      low = vessel >= 0 ? mass[vessel]! : 0
      high = vessel >= 0 ? most[vessel]! : 0
      richest = vessel >= 0 ? peak[vessel]! : 0
      // What mixes from nothing is always at its beginning.
      first = low < 0 || vessel < 0
      if (low < 0) low = 0
      if (from !== undefined) u = at[g]! >= from ? 1 : 0
      if (first) c = u
      flooded = flood !== undefined && flood[g] === 1
      if (flooded && high > 0) {
        c = 1
        richest = 1
      }
      layered = -1
    } else if (slot === SET) {
      if (layered >= 0 && lean !== 0 && g < high && !flooded) {
        c = lean > 0 ? mostLeft(c * high, g, richest) : leastLeft(c * low, high - g, g)
      } else if (g > 0 && (low === 0 || g - low > tolerance)) {
        const atLow = (c * low + (g - low) * u) / g
        const short = high === 0 || g - high > tolerance
        const atHigh = short ? (c * high + (g - high) * u) / g : c
        // The surplus is of nobody knows what, or of what was there and the book had drifted.
        if (lean === 0) c = atLow
        else c = lean > 0 ? Math.max(c, atLow, atHigh) : Math.min(c, atLow, atHigh)
        if (flooded) c = 1
      }
      if (g > high && u > richest) richest = u
      if (g === 0) {
        richest = 0
        c = u
      }
      low = g
      high = g
      tolerance = 0
    } else if (slot === TOLERANCE) {
      tolerance = g
    } else if (slot === LAYERED) {
      layered = turnoverOf(g)
    } else if (slot === KEEP) {
      if (lean !== 0) low = 0
    } else if (slot === UNKNOWN) {
      if (first && (lean !== 0 || from !== undefined)) {
        const full = (c * low + g * u) / (low + g)
        if (flooded) c = 1
        else if (lean === 0 || high === 0 || lean * (full - c) > 0) c = full
        if (lean === 0) low += g
        high += g
        if (u > richest) richest = u
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
    peak[vessel] = richest
  }
}
