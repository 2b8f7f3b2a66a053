// What can be in a vessel in which nothing mixes. What is tapped is of some of what was put in: as little of
// what is followed as the rest allows, as much as there is. All taps together take no more of it than was
// there, and what one may have taken the next may find.

/**
 * Most of a tap: `there` followed in a vessel of `high`, of which `short` is missing and counts `u`; never
 * more than the richest inflow, `peak`.
 */
export function mostOfTap(
  q: number,
  there: number,
  high: number,
  peak: number,
  short: number,
  u: number,
): number {
  const over = q - high
  // A twentieth too much is weighing.
  const from = 20 * over > q ? q : Math.min(q, high)
  const missing = 20 * short > q ? short * u : 0
  return from > 0 ? Math.min(Math.max(peak, u), (there + missing) / from) : 0
}

/** Least of a tap: the rest of the vessel may have been all of it. */
export function leastOfTap(q: number, there: number, high: number): number {
  return Math.max(0, Math.min(q, high) - (high - there)) / q
}

/** Most of what stays when so much is left: none of it need have gone. */
export const mostLeft = (there: number, left: number, peak: number): number =>
  left > 0 ? Math.min(peak, there / left) : 0

/** Least of what stays: all that went may have been it. */
export const leastLeft = (there: number, gone: number, left: number): number =>
  left > 0 ? Math.max(0, there - gone) / left : 0

/**
 * Whether what is followed is gone from a vessel after an inflow of `g` with the share x of it: `turnover`
 * thousandths of a full have come since. `at` says where the vessel keeps what passed and its full.
 */
export function isGone(
  passed: Float64Array,
  full: Float64Array,
  at: number,
  x: number,
  g: number,
  high: number,
  turnover: number,
): boolean {
  if (x > 0) {
    passed[at] = 0
    full[at] = high
    return false
  }
  passed[at]! += g
  full[at] = Math.max(full[at]!, high)
  return 1000 * passed[at]! >= turnover * full[at]!
}
