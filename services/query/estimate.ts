// Numbers with what is known of their error, and the words people read them in.

export type Basis = 'REPORTED' | 'COMPUTED' | 'INFERRED'

/** The GraphQL object Estimate. */
export interface Estimate {
  value: number
  basis: Basis
  interval: { low: number; high: number; level: number; method: string } | null
}

/** What the ends of every interval here count. */
const LEFT_OPEN =
  'heels, bays and gaps the reports leave open, and errors of scales, gauges and yields followed through every mixing'
/** Part of intervals that hold the true value. */
const LEVEL = 0.95

/** A number between the ends that the reports leave possible. */
export function bounded(
  value: number,
  low: number,
  high: number,
  basis: Basis = 'COMPUTED',
): Estimate {
  return {
    value: kept(value),
    basis,
    interval: {
      low: kept(Math.min(low, value)),
      high: kept(Math.max(high, value)),
      level: LEVEL,
      method: LEFT_OPEN,
    },
  }
}

/** A number of which no error is worked out. */
export function plain(value: number, basis: Basis = 'COMPUTED'): Estimate {
  return { value: kept(value), basis, interval: null }
}

/** Sums are made in the order things come in: digits behind the fourteenth are none of theirs. */
function kept(value: number): number {
  return Number(value.toPrecision(14))
}

/** A share or chance: 1 in so many below a tenth, else in a hundred. */
export function inWords(share: number): string {
  if (share <= 0) return 'none'
  if (share >= 0.9995) return 'all'
  if (share < 0.1) return `1 in ${grouped(Math.round(1 / share))}`
  return `${(100 * share).toFixed(share > 0.995 ? 1 : 0)} in 100`
}

const THOUSANDS = new Intl.NumberFormat('en-US', { maximumFractionDigits: 0 })

/** A count with its thousands set apart: 479,200. */
export function grouped(count: number): string {
  return THOUSANDS.format(count)
}

/** A list as people say it: a, b and c. */
export function listed(words: readonly string[], most = 5): string {
  const shown =
    words.length > most
      ? [...words.slice(0, most - 1), `${words.length - most + 1} more`]
      : [...words]
  const last = shown.pop()
  return shown.length === 0 ? (last ?? 'nothing') : `${shown.join(', ')} and ${last}`
}
