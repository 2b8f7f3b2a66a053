// How surely an amount is known: what the report tells, else what is common for how it was found.

import type { Grams, How, Ms, Weighed } from '../../events/fact.ts'
import { digest } from '../digest.ts'
import type { Noted } from '../fact-book.ts'
import { type Ops, shares, type Weighing, weighed } from '../ledger/writing.ts'
import { tieOfThing } from '../things.ts'
import type { Line, Yard } from './yard.ts'

// Standard deviations as parts of the amount, where no report tells one. Common practice, no source.
const SCALE = { shared: 0.005, single: 0.002 }
const SPREAD: Record<How, number> = {
  weighed: 0.01,
  counted: 0.01,
  metered: 0.01,
  book: 0.03,
  estimated: 0.1,
  target: 0.1,
}
/** What is guessed is told in fives. Common practice, no source. */
const GUESSED_STEP: Grams = 2000
/** Of parts nobody weighed, such as what each source gave to a lot of returns: all are taken as alike. */
const SHARED_OUT = 0.3
/** Weights from a book, such as those of gates by their pattern, are all off alike. */
const BOOK = 0.02
/** What a lot yields: told, or taken as all for a metallic, which rust and sand make a little less. */
const YIELD = { told: 0.005, metallic: 0.02 }

// From memory: melting burns and slags off 1–3 % of a charge, about alike in every heat of a plant, and what a lot is
// said to yield has taken off about so much already.
const MELT_LOSS = 0.01

/** Numbers of scales: a word of their name, so that one scale is the same in every answer. */
const SCALES = 63

/** How one amount was weighed. */
export function weighingOf(yard: Yard, { fact }: Noted): Weighing {
  const { scale, spread, repeat, how, amount } = fact as Weighed & { amount?: Grams }
  if (amount === undefined) return { single: SHARED_OUT, scale: 0, shared: 0 }
  const part = (grams: Grams | undefined) =>
    grams === undefined || amount === 0 ? undefined : grams / amount
  if (scale === undefined && how === 'book') {
    return {
      single: part(spread) ?? SPREAD.book,
      scale: scaleNo(yard, fact.of, ' book'),
      shared: BOOK,
    }
  }
  if (scale === undefined) {
    const usual = SPREAD[how ?? 'weighed']
    const guessed = how === 'estimated' ? Math.hypot(usual, part(GUESSED_STEP) ?? 0) : usual
    return { single: part(spread) ?? guessed, scale: 0, shared: 0 }
  }
  return {
    single: part(repeat) ?? SCALE.single,
    scale: scaleNo(yard, fact.of, scale),
    shared: part(spread) ?? SCALE.shared,
  }
}

function scaleNo(yard: Yard, no: number, name: string): number {
  return 1 + (digest(`${yard.things.plant(no)} ${name}`) % SCALES)
}

/** Said before ops whose amounts stand in one report. */
export function weighingOps(yard: Yard, noted: Noted): Ops {
  return weighed(weighingOf(yard, noted))
}

/** Standard deviations apart from which on two weights do not mean the same. */
export const DISAGREES = 3

/** An amount, and how it was weighed. */
export interface Amount {
  grams: Grams
  weighing: Weighing
}

/** Several weighings as one: the scale of the greatest, their own errors added up. */
export function together(parts: readonly Amount[]): Weighing {
  const all = parts.reduce((sum, { grams }) => sum + grams, 0) || 1
  const [largest] = [...parts].sort((a, b) => b.grams - a.grams)
  const { scale, shared } = largest?.weighing ?? { scale: 0, shared: 0 }
  let variance = 0
  for (const { grams, weighing } of parts) {
    const part = grams / all
    variance += (part * weighing.single) ** 2
    if (weighing.scale !== scale) variance += (part * weighing.shared) ** 2
  }
  return { single: Math.sqrt(variance), scale, shared }
}

/** Standard deviation of the sum of amounts, each with how it was weighed; what a scale shares adds up as it is. */
export function spreadOfSum(parts: readonly Amount[]): Grams {
  const all = parts.reduce((sum, { grams }) => sum + grams, 0)
  const { single, shared } = together(parts)
  return all * Math.hypot(single, shared)
}

/** What nobody weighs of a charge, and every heat of a plant shares: the furnace holds less than the book. */
export function meltLossOps(yard: Yard, heat: number): Ops {
  return shares(MELT_LOSS, digest(`${yard.things.plant(heat)} melt loss`))
}

/** What every amount drawn from a lot shares: its yield is the same each time. */
export function yieldOps(yard: Yard, { fact }: Line, asOf: Ms): Ops {
  const { things } = yard
  return shares(yieldSpread(yard, fact.other, asOf), tieOfThing(things, fact.other))
}

export function yieldSpread(yard: Yard, lot: number, asOf: Ms): number {
  if (yard.things.kind(lot) !== 'lot') return 0
  const received = yard.book.of(lot, 'lot-received', asOf)[0]
  if (!received) return 0
  if (received.fact.metalPercent !== undefined) return YIELD.told
  return received.fact.role === 'metallic' ? YIELD.metallic : 0
}
