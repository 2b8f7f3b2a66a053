// A candidate: what castings have in common that may explain their defects, and how much of each row
// has it.
import type { Atoms, Factor, Kind } from './table.ts'

/** One condition on one factor. */
export type Part =
  | { factor: number; is: 'level'; level: number }
  /** At least `from` and below `until`. */
  | { factor: number; is: 'between'; from: number; until: number }
  | { factor: number; is: 'dose' }
  /** Nobody recorded it. */
  | { factor: number; is: 'missing' }

export interface Candidate {
  kind: Kind
  /** All must hold; a pair has two. */
  parts: Part[]
  /** Variants of one cause, such as several cuts of one measure, share their name. */
  named: string
  /** Belief beforehand. Unit: chance; all candidates and nothing at all add up to 1. */
  prior: number
}

/** A row counts for a candidate when at least this part of it is known. */
const KNOWN_FROM = 0.5

/**
 * Fills in the part of each row that is exposed, 0 to 1; NaN where too little is recorded. Of conditions
 * on different makeups the parts are multiplied: which castings have both, nobody can say.
 */
export function expose(
  atoms: readonly Atoms[],
  factors: readonly Factor[],
  { parts }: Candidate,
  into: Float64Array,
): Float64Array {
  const byMakeup = Map.groupBy(parts, ({ factor }) => factors[factor]!.of)
  into.fill(1)
  for (const [of, some] of byMakeup)
    for (let r = 0; r < into.length; r++) {
      if (into[r] === 0) continue
      const part = of === 'row' ? held(factors, some, r) : partOfRow(atoms[of]!, factors, some, r)
      into[r] = part === 0 ? 0 : into[r]! * part
    }
  return into
}

function partOfRow(
  { start, unit, part }: Atoms,
  factors: readonly Factor[],
  parts: readonly Part[],
  r: number,
): number {
  let [known, exposed] = [0, 0]
  for (let i = start[r]!; i < start[r + 1]!; i++) {
    const one = unit[i]! < 0 ? unknownUnit(parts) : held(factors, parts, unit[i]!)
    if (Number.isNaN(one)) continue
    known += part[i]!
    exposed += part[i]! * one
  }
  return known >= KNOWN_FROM ? exposed / known : Number.NaN
}

/** Of a unit that nobody knows only one thing is known: that nothing of it was recorded. */
function unknownUnit(parts: readonly Part[]): number {
  return parts.every(({ is }) => is === 'missing') ? 1 : Number.NaN
}

/** How far all conditions hold: 0 where one surely does not, NaN where that is not known. */
function held(factors: readonly Factor[], parts: readonly Part[], at: number): number {
  let product = 1
  for (const part of parts) {
    const one = holds(factors[part.factor]!, part, at)
    if (one === 0) return 0
    product *= one
  }
  return product
}

function holds(factor: Factor, part: Part, at: number): number {
  if (factor.form === 'levels') {
    const code = factor.codes[at]!
    if (part.is === 'missing') return code < 0 ? 1 : 0
    if (code < 0) return Number.NaN
    return part.is === 'level' && code === part.level ? 1 : 0
  }
  const value = factor.values[at]!
  if (part.is === 'missing') return Number.isNaN(value) ? 1 : 0
  if (part.is === 'between' && !Number.isNaN(value))
    return value >= part.from && value < part.until ? 1 : 0
  return value
}
