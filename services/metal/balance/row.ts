// One line of a balance: what came in is what went out, what is left, and what nobody accounts for.

/** In the order of the work; handlings of loads by their step. */
export const STAGES = ['lot', 'charge', 'heat', 'ladle', 'pour', 'handling', 'pack'] as const
export type Stage = (typeof STAGES)[number]

/** Whole grams or thousandths of a casting, so that sums are exact. */
export interface BalanceRow {
  stage: Stage
  /** Of a handling. */
  step?: string
  thing: number
  at: number
  unit: 'grams' | 'thousandths'
  in: number
  out: number
  left: number
  /** in − out − left, always. */
  unaccounted: number
  /** One standard deviation of `unaccounted`, by what was weighed; counting has none. */
  spread: number
  /** Nobody weighed or counted part of it: `unaccounted` says less than it seems. */
  open: boolean
}

/** Deviations of a difference that are still weighing. Common practice, no source. */
export const TOLERATED = 3

// The plant's stated scale error where no scale says its own: half a percent, shared by its weighings.
export const SCALE = 0.005
/** A heel or rest that is guessed or gauged. Common practice, no source. */
export const GAUGE = 0.1

/** What counts towards a side: an amount, and the error of its weighing. */
export interface Side {
  amount: number
  spread: number
  open: boolean
}

export const NOTHING: Side = { amount: 0, spread: 0, open: false }

/** Weighed on one scale: errors add up. Undefined amounts leave the side open. */
export function weighed(amounts: readonly (number | undefined)[]): Side {
  const known = amounts.filter((amount) => amount !== undefined)
  const amount = sum(known.map(Math.round))
  return { amount, spread: SCALE * amount, open: known.length < amounts.length }
}

/** Gauged once. */
export function gauged(amount: number, spread = GAUGE * amount): Side {
  return { amount: Math.round(amount), spread, open: false }
}

/** Sides whose errors have nothing to do with each other. */
export function together(...sides: readonly Side[]): Side {
  return {
    amount: sum(sides.map(({ amount }) => amount)),
    spread: Math.hypot(...sides.map(({ spread }) => spread)),
    open: sides.some(({ open }) => open),
  }
}

type About = Pick<BalanceRow, 'stage' | 'thing' | 'at' | 'unit'> & { step?: string }

export function row(about: About, into: Side, out: Side, left: Side): BalanceRow {
  return {
    ...about,
    in: into.amount,
    out: out.amount,
    left: left.amount,
    unaccounted: into.amount - out.amount - left.amount,
    spread: Math.hypot(into.spread, out.spread, left.spread),
    open: into.open || out.open || left.open,
  }
}

/** Whether what is unaccounted for is no more than weighing. */
export function isWithin({
  unaccounted,
  spread,
}: Pick<BalanceRow, 'unaccounted' | 'spread'>): boolean {
  return Math.abs(unaccounted) <= TOLERATED * spread
}

export function sum(values: readonly number[]): number {
  let total = 0
  for (const value of values) total += value
  return total
}
