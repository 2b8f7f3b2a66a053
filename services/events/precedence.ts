import type { Claim } from './claim.ts'

// Which of two claims goes first, for each thing that has to be settled. No order is left to arrival.

/** The one recorded first; among claims of one key, that is what was said under it. */
export function saidFirst(a: Claim, b: Claim): number {
  return a.recorded - b.recorded || byBytes(a.hash, b.hash) || b.rank - a.rank || byKey(a, b)
}

/** Machine over scan over hand, then the one recorded last. */
export function strongestFirst(a: Claim, b: Claim): number {
  return b.rank - a.rank || b.recorded - a.recorded || byKey(b, a)
}

export function earliestFirst(a: Claim, b: Claim): number {
  const [one, other] = [stretch(a), stretch(b)]
  // Not by subtraction: the start of all time taken from itself is no number.
  if (one.from !== other.from) return one.from < other.from ? -1 : 1
  return byKey(a, b)
}

export function byKey(a: Claim, b: Claim): number {
  return byBytes(a.source, b.source) || byBytes(a.id, b.id)
}

/** The time a claim takes up in its slot: after `from`, up to `until`. Unit: ms. */
export function stretch(claim: Claim): { from: number; until: number } {
  const until = claim.until ?? Number.POSITIVE_INFINITY
  return { from: Math.min(claim.from ?? Number.NEGATIVE_INFINITY, until - 1), until }
}

/** Orders as UTF-8 does, so that the database agrees: `<` would put U+1F600 before U+FB01. */
function byBytes(a: string, b: string): number {
  if (a === b) return 0
  const end = Math.min(a.length, b.length)
  for (let i = 0; i < end; i++) {
    const [one, other] = [a.charCodeAt(i), b.charCodeAt(i)]
    if (one === other) continue
    // Half of a pair stands for a character beyond all that need no pair.
    if (isHalf(one) !== isHalf(other)) return isHalf(one) ? 1 : -1
    return one - other
  }
  return a.length - b.length
}

function isHalf(unit: number): boolean {
  return (unit & 0xf800) === 0xd800
}
