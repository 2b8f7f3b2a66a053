// What a reach asks, in one walk over the pages: the share of the followed stuff in every slot as best
// known, the least and the most it can be, and the most that is unrecorded and could be it. The four
// stand side by side by slot, so that one look-up in memory finds them all.

import { isGone, leastLeft, leastOfTap, mostLeft, mostOfTap } from './layers.ts'
import type { Masses } from './masses.ts'
import { FRESH, KEEP, LAYERED, OLDER, SET, TOLERANCE, turnoverOf, UNKNOWN } from './op.ts'

/** Shares by slot: LANES numbers each. */
export const LANES = 4
export const BEST = 0
export const LOW = 1
export const HIGH = 2
export const GAP = 3

export const PERHAPS = 2

/** What the walk carries from page to page. */
export interface SpanSweep {
  /** By slot and lane; NaN in the lane of gaps reads as unrecorded. */
  share: Float64Array
  /** By slot: 1 where what is written does not count, PERHAPS where all of it could be what is followed. */
  pinned: Uint8Array
  /** By vessel and lane: the share of what it holds, for BEST the amount. */
  held: Float64Array
  masses: Masses
  /** By vessel, for HIGH and for GAP: put in since what is followed came last, and the most held since. */
  passed: Float64Array
  full: Float64Array
  /** The same: the greatest share put in since the vessel was empty. */
  peak: Float64Array
  /** By cell, seconds; unrecorded stuff counts from then on. */
  at: Uint32Array
  from: number
  /** By cell: 1 where all that is in the vessel counts as followed. */
  flood: Uint8Array | undefined
}

/** Carries all four through a page. How the ends are found is told at `leanPage`. */
export function spanPage(sweep: SpanSweep, ops: Int32Array, end: number): void {
  const { share, pinned, held, masses, passed, full, peak, at, from, flood } = sweep
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
  /** Where nothing mixes: thousandths of a full after which it does; below 0 where all is mixed. */
  let layered = -1
  let peakHigh = 0
  let peakGap = 0
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
        if (z > peakHigh) peakHigh = z
        if (y > peakGap) peakGap = y
        A += g * share[s]!
        M += g
        low += g
        high += g
        if (layered > 0) {
          if (isGone(passed, full, 2 * vessel, z, g, high, layered)) h = 0
          if (isGone(passed, full, 2 * vessel + 1, y, g, high, layered)) n = 0
        }
        if (flooded) {
          A = M
          l = 1
          h = 1
          peakHigh = 1
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
        if (layered >= 0) {
          const [lowest, highest] = [low - g, high - g]
          const short = Math.max(0, -low)
          const shortAtMost = Math.max(0, -high)
          low = Math.max(0, low)
          high = Math.max(0, high)
          gap = mostOfTap(-g, n * highest, highest, peakGap, short, u)
          n = mostLeft(n * highest, high, peakGap)
          if (!flooded) {
            atLow = leastOfTap(-g, l * lowest, highest)
            atHigh = mostOfTap(-g, h * highest, highest, peakHigh, 0, 0)
            l = leastLeft(l * lowest, -g, high)
            h = mostLeft(h * highest, high, peakHigh)
          } else {
            if (20 * short > -g) atLow = l * (1 + short / g)
            if (20 * shortAtMost > -g) atHigh = h * (1 + shortAtMost / g)
          }
        } else if (low < 0) {
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
        if (high === 0) {
          peakHigh = 0
          peakGap = 0
        }
        const pin = pinned[slot]!
        if (pin !== 1) {
          share[s] = best
          share[s + LOW] = atLow
          share[s + HIGH] = atHigh
          share[s + GAP] = pin === 0 ? gap : 1
        }
      }
    } else if (slot <= FRESH) {
      if (vessel >= 0 && i - head > 2) {
        const v = LANES * vessel
        held[v] = A
        held[v + LOW] = l
        held[v + HIGH] = h
        held[v + GAP] = n
        peak[2 * vessel] = peakHigh
        peak[2 * vessel + 1] = peakGap
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
        peakHigh = peak[2 * vessel]!
        peakGap = peak[2 * vessel + 1]!
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
        peakHigh = 0
        peakGap = 0
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
        peakHigh = 1
      }
      u = at[g]! >= from ? 1 : 0
      layered = -1
    } else if (slot === SET) {
      if (g === 0) A = 0
      else if (flooded) A = g
      else if (g - M <= tolerance && M > 0) A *= g / M
      M = g
      if (layered >= 0 && g < high) {
        // What is missing went as it lay.
        n = mostLeft(n * high, g, peakGap)
        if (!flooded) {
          l = leastLeft(l * low, high - g, g)
          h = mostLeft(h * high, g, peakHigh)
        }
      } else if (g > 0 && (low === 0 || g - low > tolerance)) {
        // Nobody reported the surplus, or the book had drifted and it is of what was there: either may be.
        const thin = low / g
        const thick = high === 0 || g - high > tolerance ? high / g : 1
        l *= Math.min(thin, thick)
        n = Math.max(n, n * thin + (1 - thin) * u, n * thick + (1 - thick) * u)
        if (flooded) {
          l = 1
          h = 1
        }
      }
      if (g > high && u > peakGap) peakGap = u
      if (g === 0) {
        peakHigh = 0
        peakGap = 0
        l = 0
        h = 0
        n = u
      }
      low = g
      high = g
      tolerance = 0
    } else if (slot === TOLERANCE) {
      tolerance = g
    } else if (slot === LAYERED) {
      layered = turnoverOf(g)
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
        if (u > peakGap) peakGap = u
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
    peak[2 * vessel] = peakHigh
    peak[2 * vessel + 1] = peakGap
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
  { share, pinned, at, from, flood }: Pick<SpanSweep, 'share' | 'pinned' | 'at' | 'from' | 'flood'>,
  ops: Int32Array,
  end: number,
): boolean {
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (g < 0) {
        if (pinned[slot] === PERHAPS) return true
        share[LANES * slot + GAP] = 0
      } else if (pinned[slot] === 1) return true
    } else if (slot <= FRESH && (at[g]! >= from || flood?.[g] === 1)) return true
  }
  return false
}

/** Whether a page reads or writes any of what is followed, once all shares are known. */
export function holdsAny(
  share: Float64Array,
  { ops, end }: { ops: Int32Array; end: number },
): boolean {
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    if (slot >= 0 && share[LANES * slot]! > 0) return true
  }
  return false
}
