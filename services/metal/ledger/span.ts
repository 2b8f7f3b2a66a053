// What a reach asks, in one walk over the pages: the share of the followed stuff in every slot as best
// known, the least and the most it can be, and the most that is unrecorded and could be it. The four
// stand side by side by slot, so that one look-up in memory finds them all.

import type { Masses } from './masses.ts'
import { FRESH, KEEP, OLDER, SET, TOLERANCE, UNKNOWN } from './op.ts'

/** Shares by slot: LANES numbers each. */
export const LANES = 4
export const BEST = 0
export const LOW = 1
export const HIGH = 2
export const GAP = 3

/** What the walk carries from page to page. */
export interface SpanSweep {
  /** By slot and lane; NaN in the lane of gaps reads as unrecorded. */
  share: Float64Array
  /** By slot: 1 where what is written does not count. */
  pinned: Uint8Array
  /** By vessel and lane: the share of what it holds, for BEST the amount. */
  held: Float64Array
  masses: Masses
  /** By cell, seconds; unrecorded stuff counts from then on. */
  at: Uint32Array
  from: number
  /** By cell: 1 where all that is in the vessel counts as followed. */
  flood: Uint8Array | undefined
}

/** Carries all four through a page. How the ends are found is told at `leanPage`. */
export function spanPage(sweep: SpanSweep, ops: Int32Array, end: number): void {
  const { share, pinned, held, masses, at, from, flood } = sweep
  const { book, least, most } = masses
  let u = 0
  let A = 0
  let M = 0
  let l = 0
  let h = 0
  let n = 0
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
      const s = LANES * slot
      if (g > 0) {
        const unrecorded = share[s + GAP]!
        const y = Number.isNaN(unrecorded) ? u : unrecorded
        const thin = g / (low + g)
        const thick = low === high ? thin : g / (high + g)
        const x = share[s + LOW]!
        const z = share[s + HIGH]!
        l += (x - l) * (l < x ? thick : thin)
        h += (z - h) * (h > z ? thick : thin)
        n += (y - n) * (n > y ? thick : thin)
        A += g * share[s]!
        M += g
        low += g
        high += g
        if (flooded) {
          A = M
          l = 1
          h = 1
        }
      } else {
        let best = A / M
        let atLow = l
        let atHigh = h
        let gap = n
        M += g
        low += g
        high += g
        if (M >= 0) A = M * best
        else {
          if (-20 * M > -g) best = A / -g
          A = 0
          M = 0
        }
        if (low < 0) {
          if (-20 * low > -g) {
            const thin = 1 + low / -g
            const thick = -20 * high > -g ? 1 + high / -g : 1
            atLow = l * Math.min(thin, thick)
            atHigh = h * Math.max(thin, thick)
            gap = Math.max(n * thin + (1 - thin) * u, n * thick + (1 - thick) * u)
          }
          low = 0
          if (high < 0) high = 0
        }
        if (pinned[slot] === 0) {
          share[s] = best
          share[s + LOW] = atLow
          share[s + HIGH] = atHigh
          share[s + GAP] = gap
        }
      }
    } else if (slot <= FRESH) {
      if (vessel >= 0 && i - head > 2) {
        const v = LANES * vessel
        held[v] = A
        held[v + LOW] = l
        held[v + HIGH] = h
        held[v + GAP] = n
        book[vessel] = M
        least[vessel] = low
        most[vessel] = high
      }
      head = i
      vessel = FRESH - 1 - slot
      if (vessel >= 0) {
        const v = LANES * vessel
        A = held[v]!
        l = held[v + LOW]!
        h = held[v + HIGH]!
        n = held[v + GAP]!
        M = book[vessel]!
        low = least[vessel]!
        high = most[vessel]!
        first = low < 0
        if (first) low = 0
      } else {
        A = 0
        l = 0
        h = 0
        n = 0
        M = 0
        low = 0
        high = 0
        first = true
      }
      flooded = flood !== undefined && flood[g] === 1
      if (flooded && high > 0) {
        A = M
        l = 1
        h = 1
      }
      u = at[g]! >= from ? 1 : 0
    } else if (slot === SET) {
      if (g === 0) A = 0
      else if (flooded) A = g
      else if (g - M <= tolerance && M > 0) A *= g / M
      M = g
      if (g > 0 && (low === 0 || g - low > tolerance)) {
        const thin = low / g
        const thick = high === 0 || g - high > tolerance ? high / g : 1
        l *= Math.min(thin, thick)
        h *= Math.max(thin, thick)
        n = Math.max(n * thin + (1 - thin) * u, n * thick + (1 - thick) * u)
        if (flooded) {
          l = 1
          h = 1
        }
      }
      low = g
      high = g
      tolerance = 0
    } else if (slot === TOLERANCE) {
      tolerance = g
    } else if (slot === KEEP) {
      low = 0
    } else if (slot === UNKNOWN) {
      if (first) {
        const thin = low / (low + g)
        if (flooded) {
          l = 1
          h = 1
        } else {
          l *= thin
          if (high === 0) h *= thin
        }
        const full = n * thin + (1 - thin) * u
        if (high === 0 || full > n) n = full
        high += g
      }
    } else if (slot === OLDER) {
      // A cell that was taken out leaves its vessel untouched.
      head = i
    }
  }
  if (vessel >= 0 && end - head > 2) {
    const v = LANES * vessel
    held[v] = A
    held[v + LOW] = l
    held[v + HIGH] = h
    held[v + GAP] = n
    book[vessel] = M
    least[vessel] = low
    most[vessel] = high
  }
}

/**
 * Whether a page reads any of what is followed, or holds a cell from which on gaps count. Where it does
 * not, what it writes is known to be free of both, and noted so.
 */
export function concerns(
  { share, pinned, at, from, flood }: Omit<SpanSweep, 'held' | 'masses'>,
  ops: Int32Array,
  end: number,
): boolean {
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (g < 0) share[LANES * slot + GAP] = 0
      else if (pinned[slot] === 1) return true
    } else if (slot <= FRESH && (at[g]! >= from || flood?.[g] === 1)) return true
  }
  return false
}
