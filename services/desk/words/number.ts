// Numbers as people say them: small shares as "1 in 1,000", chances as "71 in 100", counts in full.

// Made once: making one for each number was half the time of a redraw.
const WHOLE = new Intl.NumberFormat('en', { maximumFractionDigits: 0 })

/** A share of metal from 0 to 1. */
export function shareWords(share: number): string {
  if (share <= 0) return 'none'
  if (share >= 0.1) return `${Math.round(share * 100)} in 100`
  const of = 1 / share
  if (of > 1e7) return 'less than 1 in 10 million'
  const digits = 10 ** Math.max(0, Math.floor(Math.log10(of)) - 1)
  return `1 in ${WHOLE.format(Math.round(of / digits) * digits)}`
}

/** A chance from 0 to 1; never certain by rounding. */
export function chanceWords(chance: number): string {
  if (chance <= 0) return 'none'
  if (chance >= 1) return 'certain'
  if (chance < 0.005) return shareWords(chance)
  return `${Math.min(99, Math.round(chance * 100))} in 100`
}

export function countWords(count: number): string {
  const whole = Math.round(count)
  // Most are below 1,000, and look alike without being formatted.
  return whole >= 0 && whole < 1_000 ? String(whole) : WHOLE.format(whole)
}

/** A word with its number: "1 pack", "2 packs". */
export function counted(count: number, one: string, several = `${one}s`): string {
  return `${countWords(count)} ${Math.round(count) === 1 ? one : several}`
}

/** An interval behind a number: "(6 to 11)". */
export function between(
  interval: { low: number; high: number } | null | undefined,
  words: (value: number) => string,
): string {
  if (!interval) return ''
  const [low, high] = [words(interval.low), words(interval.high)]
  return low === high ? '' : ` (${low} to ${high})`
}

/** A rate as tables of rates have it: "1.84 %", two figures at least. */
export function percentWords(rate: number): string {
  const percent = rate * 100
  if (percent === 0) return '0 %'
  return `${percent < 10 ? Number(percent.toPrecision(percent < 1 ? 2 : 3)) : Math.round(percent)} %`
}
