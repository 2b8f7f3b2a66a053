// Metal that reports lose sight of: it went into a vessel and no report says what became of it. From
// then on metal of no known origin could be it, and so could be any lot that was in it.
import type { Ms } from '../events/fact.ts'
import type { View } from './followed.ts'

// Common practice, no source: less than this part of a filling stays in the ladle or is spilled unsaid.
const STAYS = 0.1

const known = new WeakMap<View, Ms[]>()

/** The first moment from some moment on at which metal was lost sight of; undefined where none was. */
export function lostSightFrom(view: View, since: Ms): Ms | undefined {
  let moments = known.get(view)
  if (!moments) {
    moments = [...lostMoments(view)].sort((a, b) => a - b)
    known.set(view, moments)
  }
  return moments.find((at) => at >= since)
}

function* lostMoments(view: View): Iterable<Ms> {
  for (const { reported, at } of view.castings.pours()) if (!reported) yield at
  for (const no of view.melt.told()) {
    const at = lostAt(view, no)
    if (at !== undefined) yield at
  }
}

function lostAt(view: View, no: number): Ms | undefined {
  switch (view.things.kind(no)) {
    case 'ladle':
      return fillingLostAt(view, no)
    case 'charge':
      return chargeLostAt(view, no)
    case 'heat':
      return heatLostAt(view, no)
    default:
      return undefined
  }
}

/** Filled and not poured, or poured and never filled. */
function fillingLostAt({ book, asOf }: View, ladle: number): Ms | undefined {
  const ins = [...book.of(ladle, 'ladle-tapped', asOf), ...book.of(ladle, 'metal-moved', asOf)]
  const poured = book.other(ladle, 'poured', asOf)
  if (ins.length === 0) return poured[0]?.fact.at
  let left = ins.reduce((sum, { fact }) => sum + fact.amount, 0)
  const least = STAYS * left
  for (const { fact } of poured) left -= fact.amount ?? left
  for (const { fact } of book.other(ladle, 'metal-moved', asOf)) left -= fact.amount
  for (const { fact } of book.of(ladle, 'metal-spilled', asOf)) left -= fact.amount
  for (const { fact } of book.other(ladle, 'topped-up', asOf)) left -= fact.amount ?? left
  return left > least ? ins[0]!.fact.at : undefined
}

/** Weighed and in no heat, or of returns of which nobody said what was thrown in. */
function chargeLostAt(view: View, charge: number): Ms | undefined {
  const { book, things, asOf } = view
  const lines = book.of(charge, 'charge-line', asOf)
  const melted = book.other(charge, 'heat-charged', asOf).length > 0
  return lines.find(
    ({ fact }) => !melted || (things.kind(fact.other) === 'lot' && !isExplained(view, fact.other)),
  )?.fact.at
}

/** Of a charge nobody weighed, or of none at all. */
function heatLostAt({ book, asOf }: View, heat: number): Ms | undefined {
  const charged = book.of(heat, 'heat-charged', asOf)
  const moved = book.via(heat, 'metal-moved', asOf)
  const told = charged.length > 0 || moved.length > 0
  if (told && charged.every(({ fact }) => book.of(fact.other, 'charge-line', asOf).length > 0))
    return undefined
  const begun = [
    ...book.of(heat, 'heat-begun', asOf),
    ...charged,
    ...book.of(heat, 'heat-added', asOf),
    ...book.other(heat, 'ladle-tapped', asOf),
  ]
  return Math.min(...begun.map(({ fact }) => fact.at))
}

function isExplained({ book, asOf }: View, lot: number): boolean {
  return EXPLAINS.some((what) => book.of(lot, what, asOf).length > 0)
}

const EXPLAINS = ['lot-received', 'returned-from', 'metal-moved'] as const
