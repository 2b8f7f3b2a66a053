// What reading facts into cells needs everywhere: where compositions are kept, and what a
// measurement or a source comes to as ops of the ledger.
import type { FactOf, Grams, Mixing, Ms } from '../../events/fact.ts'
import { byMoment, type FactBook, type Noted } from '../fact-book.ts'
import type { Taken } from '../ledger/op.ts'
import { layered, type Ops, open, set } from '../ledger/writing.ts'
import type { Things } from '../things.ts'

/** What one vessel did in one go: where it belongs in time, and its ops. */
export interface Drawn {
  /** A lasting vessel; absent where mixing starts afresh. */
  vessel?: number
  at: Ms
  tie: number
  ops: Ops
}

/** Where compositions and vessels of things are kept, and what the castings side knows of metal. */
export interface Yard {
  book: FactBook
  things: Things
  /** Composition of a lot, charge, ladle or pour. */
  slot(no: number): number
  /** The lot itself, as received: a leaf. */
  own(lot: number): number
  /** Composition of what one fact took out of a vessel, and of a pour from one top-up on. */
  taken(noted: Noted): number
  part(noted: Noted): number
  /** What went out of a heat and no report tells where to. */
  lost(heat: number): number
  vessel(no: number): number
  steel(ladle: number, name: string): number
  castings: CastingsMetal
}

/** What the castings side tells: metal of one mold, and of which pours a thing is made. */
export interface CastingsMetal {
  moldGrams(pour: number, asOf: Ms): Grams | undefined
  /** Parts by mass, together at most 1, and what is or was there of each; the rest is of unknown origin. */
  metalOf(thing: number, asOf: Ms): { pour: number; share: number; grams?: Grams }[]
}

// Common practice, no source: a heel is gauged to about a tenth.
const GAUGE = 0.1
// Common practice, no source: and told in fives.
const GAUGE_STEP: Grams = 2000
// From memory: scales and melting loss put the book of a heat off by about this part of what went through.
const BOOK = 0.02

// Common practice, no source: what a ladle keeps when nobody says so.
export const LADLE_HEEL = 0.05

export type Line = Noted<
  FactOf<'charge-line' | 'heat-added' | 'ladle-added' | 'pour-added' | 'bin-filled', number>
>

/** What a bin that does not mix is said to be. */
const TAKEN_AS: Partial<Record<Mixing, Taken>> = {
  'first-in-first-out': 'first in first out',
  'last-in-first-out': 'last in first out',
}

/** Said of every op of a bin that nobody calls mixed: it lies as it was put in. */
export function lying(yard: Yard, bin: number, asOf: Ms): Ops {
  if (yard.things.kind(bin) !== 'bin') return []
  const fills = yard.book.of(bin, 'bin-filled', asOf)
  const said = fills.filter((n) => n.fact.mixing !== undefined)
  if (said.length > 0 && said.every((n) => n.fact.mixing === 'mixed')) return []
  // Of several turnovers the slowest: nothing is taken as gone too soon.
  const turnovers = fills.map((n) => n.fact.turnover)
  const turnover =
    turnovers.length === 0 || turnovers.includes(undefined)
      ? 0
      : Math.max(...turnovers.map((turnover) => turnover ?? 0))
  const orders = new Set(said.map((n) => n.fact.mixing))
  const [order] = orders
  return layered(turnover, (orders.size === 1 && TAKEN_AS[order!]) || 'anyhow')
}

/** What reading weights takes. */
export type Weighed = Pick<Yard, 'book' | 'things'>

/** What a lot's weighed kg is worth as metal. */
export function metalShare(yard: Weighed, lot: number, asOf: Ms): number {
  return (yard.book.of(lot, 'lot-received', asOf)[0]?.fact.metalPercent ?? 100) / 100
}

export function metalGrams(yard: Weighed, line: Line, asOf: Ms): Grams {
  const share =
    yard.things.kind(line.fact.other) === 'lot' ? metalShare(yard, line.fact.other, asOf) : 1
  return (line.fact.amount ?? 0) * share
}

export function source(yard: Yard, line: Line): number {
  const kind = yard.things.kind(line.fact.other)
  return kind === 'bin' ? yard.taken(line) : yard.slot(line.fact.other)
}

/** Metal moved out of a furnace or ladle has the composition of that moment. */
export function movedFrom(yard: Yard, move: Noted<FactOf<'metal-moved', number>>): number {
  const kind = yard.things.kind(move.fact.other)
  return kind === 'furnace' || kind === 'ladle' ? yard.taken(move) : yard.slot(move.fact.other)
}

/**
 * A measured mass. It disagrees with the book where they differ by more than three standard deviations
 * of the difference: of the gauge, and of the book, over what went `through` the vessel.
 */
export function gauged(
  grams: Grams,
  spread = Math.hypot(GAUGE * grams, GAUGE_STEP),
  through: Grams = 0,
): Ops {
  return set(whole(grams), whole(3 * Math.hypot(spread, BOOK * through)), spread)
}

export function placed(noted: Noted, ops: Ops, vessel?: number): Drawn {
  const { fact, said } = noted
  const at = 'from' in fact && fact.from !== undefined ? fact.from : fact.at
  if (vessel === undefined) return { at, tie: said.tie, ops }
  return { vessel, at, tie: said.tie, ops: [...open(vessel), ...ops] }
}

export function pour(ops: Ops, slot: number, grams: Grams): Grams {
  const amount = whole(grams)
  if (amount > 0) ops.push(slot, amount)
  return Math.max(0, amount)
}

export function inflow(ops: Ops): Grams {
  let grams = 0
  for (let i = 0; i < ops.length; i += 2) if (ops[i]! >= 0 && ops[i + 1]! > 0) grams += ops[i + 1]!
  return grams
}

/** Leaves out what rounds to nothing: a zero is neither in nor out. */
export function tidy(ops: Ops): Ops {
  const kept: Ops = []
  for (let i = 0; i < ops.length; i += 2) {
    if (ops[i]! < 0 || ops[i + 1] !== 0) kept.push(ops[i]!, ops[i + 1]!)
  }
  return kept
}

/** A little above the half: sums of one share in another order must not come to another gram. */
const HALF = 0.5 + 1e-6

export function whole(grams: Grams): number {
  return Math.floor(grams + HALF)
}

export function sum(values: number[]): number {
  return values.reduce((total, value) => total + value, 0)
}

/** Taps by their number where they have one, else by time. */
export function byTap(
  a: Noted<FactOf<'ladle-tapped', number>>,
  b: Noted<FactOf<'ladle-tapped', number>>,
): number {
  if (a.fact.tap !== undefined && b.fact.tap !== undefined && a.fact.tap !== b.fact.tap) {
    return a.fact.tap - b.fact.tap
  }
  return byMoment(a, b)
}
