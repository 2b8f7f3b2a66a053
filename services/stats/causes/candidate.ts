// A candidate: what castings have in common that may explain their defects, and how much of each row
// has it.
import { type Atoms, type Factor, type Kind, KNOWN_FROM } from './table.ts'

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

/** All below a cut, or all from it on. */
export function isTail(part: Part): boolean {
  return part.is === 'between' && !(Number.isFinite(part.from) && Number.isFinite(part.until))
}

/**
 * Fills in the part of each row that is exposed, 0 to 1; NaN where too little is recorded. Of conditions
 * on different makeups the parts are multiplied: which castings have both, nobody can say.
 */
export function expose(
  atoms: readonly Atoms[],
  factors: readonly Factor[],
  parts: readonly Part[],
  into: Float64Array,
): Float64Array {
  const byMakeup = Map.groupBy(parts, ({ factor }) => factors[factor]!.of)
  into.fill(1)
  for (const [of, some] of byMakeup) {
    const held = heldOf(factors, some)
    if (of === 'row') and(into, held)
    else andOfUnits(into, held, atoms[of]!, some.every(isMissing) ? 1 : Number.NaN)
  }
  return into
}

/** What surely does not hold is not exposed, whatever else nobody knows. */
function and(into: Float64Array, more: Float64Array): void {
  for (let r = 0; r < into.length; r++)
    into[r] = into[r] === 0 || more[r] === 0 ? 0 : into[r]! * more[r]!
}

/** The same by the units of each row; of a unit that nobody knows only so much is known. */
function andOfUnits(
  into: Float64Array,
  held: Float64Array,
  { start, unit, part }: Atoms,
  unknown: number,
): void {
  for (let r = 0; r < into.length; r++) {
    if (into[r] === 0) continue
    let [known, exposed] = [0, 0]
    for (let i = start[r]!; i < start[r + 1]!; i++) {
      const one = unit[i]! < 0 ? unknown : held[unit[i]!]!
      if (Number.isNaN(one)) continue
      known += part[i]!
      exposed += part[i]! * one
    }
    const whole = known >= KNOWN_FROM ? exposed / known : Number.NaN
    into[r] = whole === 0 ? 0 : into[r]! * whole
  }
}

function isMissing({ is }: Part): boolean {
  return is === 'missing'
}

/** How far all conditions hold, by row or by unit: 0 where one surely does not, NaN where that is not known. */
export function heldOf(factors: readonly Factor[], parts: readonly Part[]): Float64Array {
  const [first, ...others] = parts.map((part) => held(factors[part.factor]!, part))
  for (const other of others) and(first!, other)
  return first!
}

function held(factor: Factor, part: Part): Float64Array {
  if (factor.form === 'levels') {
    const { codes } = factor
    const held = new Float64Array(codes.length)
    const level = part.is === 'level' ? part.level : -1
    if (part.is === 'missing') for (let i = 0; i < held.length; i++) held[i] = codes[i]! < 0 ? 1 : 0
    else
      for (let i = 0; i < held.length; i++)
        held[i] = codes[i]! < 0 ? Number.NaN : codes[i] === level ? 1 : 0
    return held
  }
  const { values } = factor
  if (part.is === 'missing') return values.map((value) => (Number.isNaN(value) ? 1 : 0))
  const held = Float64Array.from(values)
  if (part.is === 'between')
    for (let i = 0; i < held.length; i++)
      if (!Number.isNaN(held[i]!)) held[i] = held[i]! >= part.from && held[i]! < part.until ? 1 : 0
  return held
}
