// How much somebody may ask for: a store of values that fills up again with time. Asking for more of it than
// is there has to wait, however it is split into requests.

export interface BudgetOptions {
  /** What a full store holds. Unit: values. */
  most: number
  /** Unit: values a second. */
  perSecond: number
  /** Unit: ms. */
  now(): number
}

/** Takes so many values; answers 0 when they were there, else in how many seconds they will be. */
export type Budget = (subject: string, values: number) => number

/** Kept at most; beyond it, those whose store is full again are forgotten. */
const MOST_SUBJECTS = 10_000

export function budgetOf({ most, perSecond, now }: BudgetOptions): Budget {
  const kept = new Map<string, { left: number; atMs: number }>()
  const leftIn = ({ left, atMs }: { left: number; atMs: number }, nowMs: number) =>
    Math.min(most, left + (Math.max(0, nowMs - atMs) / 1_000) * perSecond)
  return (subject, values) => {
    const nowMs = now()
    const known = kept.get(subject)
    const left = known ? leftIn(known, nowMs) : most
    // More than a full store holds waits for a full one: else it would wait for ever.
    const wanted = Math.min(values, most)
    if (left < wanted) return Math.ceil((wanted - left) / perSecond)
    if (!known && kept.size >= MOST_SUBJECTS)
      for (const [other, each] of kept) if (leftIn(each, nowMs) >= most) kept.delete(other)
    kept.set(subject, { left: left - wanted, atMs: nowMs })
    return 0
  }
}
