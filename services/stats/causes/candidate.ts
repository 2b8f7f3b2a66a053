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

/** Fills in the part of each row that is exposed, 0 to 1; NaN where too little is recorded. */
export function expose(
  atoms: Atoms,
  factors: readonly Factor[],
  { parts }: Candidate,
  into: Float64Array,
): Float64Array {
  const rowPart = parts.filter(({ factor }) => factors[factor]!.of === 'row')
  const unitPart = parts.filter(({ factor }) => factors[factor]!.of === 'unit')
  for (let r = 0; r < atoms.rows; r++) {
    const ofRow = held(factors, rowPart, r)
    if (unitPart.length === 0 || ofRow === 0) {
      into[r] = ofRow
      continue
    }
    let [known, exposed] = [0, 0]
    for (let i = atoms.start[r]!; i < atoms.start[r + 1]!; i++) {
      const unit = atoms.unit[i]!
      const ofUnit = unit < 0 ? unknownUnit(unitPart) : held(factors, unitPart, unit)
      if (Number.isNaN(ofUnit)) continue
      known += atoms.part[i]!
      exposed += atoms.part[i]! * ofUnit
    }
    into[r] = known >= KNOWN_FROM ? ofRow * (exposed / known) : Number.NaN
  }
  return into
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
