// Metal in against metal out: lots, charges, heats, ladles.
import type { Grams, Ms } from '../../events/fact.ts'
import type { View } from '../followed.ts'
import { chargedMetal } from '../melt/charging.ts'
import { metalGrams } from '../melt/yard.ts'
import {
  type BalanceRow,
  GAUGE,
  gauged,
  NOTHING,
  row,
  type Side,
  sum,
  together,
  weighed,
} from './row.ts'

const USES = [
  'charge-line',
  'heat-added',
  'ladle-added',
  'pour-added',
  'bin-filled',
  'touched',
] as const

/**
 * A lot: received or collected, used, and what is counted or by the book still there. More used than
 * came in is unaccounted for, with a minus. Undefined for a lot nobody reported.
 */
export function lotRow(view: View, lot: number): BalanceRow | undefined {
  const { book, asOf } = view
  const came = [...book.of(lot, 'lot-received', asOf), ...book.of(lot, 'returns-collected', asOf)]
  const cast = book.of(lot, 'metal-moved', asOf)
  const first = came[0] ?? cast[0]
  if (!first) return undefined
  const uses = USES.flatMap((what) => book.other(lot, what, asOf).map(({ fact }) => fact))
  // Pigs cast into it are what the collecting weighs, where that was said.
  const into = weighed(
    came.length > 0 ? came.map(({ fact }) => fact.amount) : cast.map(({ fact }) => fact.amount),
  )
  const binned = came.some(({ fact }) => fact.via !== undefined)
  const out = binned ? { ...into, spread: 0 } : weighed(uses.map(({ amount }) => amount))
  const counted = book
    .of(lot, 'stock-counted', asOf)
    .filter(({ fact }) => fact.grams !== undefined)
    .at(-1)?.fact
  const since = counted
    ? sum(uses.filter(({ at }) => at > counted.at).map(({ amount = 0 }) => amount))
    : 0
  const left = counted
    ? weighed([Math.max(0, counted.grams! - since)])
    : byBook(into.amount - out.amount)
  return row({ stage: 'lot', thing: lot, at: first.fact.at, unit: 'grams' }, into, out, left)
}

export function chargeRow(view: View, charge: number): BalanceRow | undefined {
  const { book, asOf } = view
  const lines = book.of(charge, 'charge-line', asOf)
  if (lines.length === 0) return undefined
  const into = weighed(lines.map(({ fact }) => fact.amount))
  const melted = book.other(charge, 'heat-charged', asOf)
  const named = sum(melted.map(({ fact }) => fact.amount ?? 0))
  const rest = melted.some(({ fact }) => fact.amount === undefined)
  const out: Side = rest
    ? { amount: Math.max(into.amount, named), spread: 0, open: false }
    : { ...weighed([named]), spread: GAUGE * Math.min(named, Math.abs(into.amount - named)) }
  const at = lines[0]!.fact.at
  return row(
    { stage: 'charge', thing: charge, at, unit: 'grams' },
    into,
    out,
    byBook(into.amount - out.amount),
  )
}

/** Heats of one furnace in their order, each with what it was left by the one before. */
export function heatRows(view: View, furnace: number): BalanceRow[] {
  const { book, asOf } = view
  const begun = book.via(furnace, 'heat-begun', asOf).map(({ fact }) => fact)
  const emptied = book.of(furnace, 'furnace-emptied', asOf).map(({ fact }) => fact)
  const rows: BalanceRow[] = []
  let held: Side | undefined
  begun.forEach((heat, i) => {
    const next = begun[i + 1]
    const until = next?.at ?? Number.POSITIVE_INFINITY
    const heel: Side = heat.fromEmpty
      ? NOTHING
      : heat.heel !== undefined
        ? gauged(heat.heel, heat.heelSpread)
        : (held ?? { ...NOTHING, open: i === 0 && !emptied.some(({ at }) => at <= heat.at) })
    const into = together(heel, charged(view, heat.of))
    const out = together(
      weighed(book.other(heat.of, 'ladle-tapped', asOf).map(({ fact }) => fact.amount)),
      drawnOff(view, furnace, heat.at, until),
    )
    const drained = emptied.find(({ at }) => at >= heat.at && at <= until)
    const left =
      next?.heel !== undefined && !drained
        ? gauged(next.heel, next.heelSpread)
        : drained
          ? gauged(drained.amount)
          : next?.fromEmpty
            ? NOTHING
            : byBook(into.amount - out.amount)
    const about = { stage: 'heat', thing: heat.of, at: heat.at, unit: 'grams' } as const
    rows.push(row(about, into, out, left))
    held = drained
      ? gauged(drained.amount)
      : { ...left, spread: Math.max(left.spread, GAUGE * left.amount) }
  })
  return rows
}

/** Metal that went into a heat; what melting leaves of it, as lots say. */
function charged(view: View, heat: number): Side {
  const { book, asOf } = view
  const charges = book.of(heat, 'heat-charged', asOf)
  const added = book.of(heat, 'heat-added', asOf)
  const moved = book.via(heat, 'metal-moved', asOf)
  return weighed([
    ...charges.map((charge) => {
      const grams = chargedMetal(view, charge, asOf)
      return book.of(charge.fact.other, 'charge-line', asOf).length > 0 ? grams : undefined
    }),
    ...added.map((line) =>
      line.fact.amount === undefined ? undefined : metalGrams(view, line, asOf),
    ),
    ...moved.map(({ fact }) => fact.amount),
  ])
}

/** What left a furnace otherwise than by taps: moved, poured from it, spilled. */
function drawnOff(view: View, furnace: number, from: Ms, until: Ms): Side {
  const { book, asOf } = view
  const during = ({ fact }: { fact: { at: Ms } }) => fact.at >= from && fact.at < until
  return weighed([
    ...book
      .other(furnace, 'metal-moved', asOf)
      .filter(during)
      .map(({ fact }) => fact.amount),
    ...book
      .of(furnace, 'metal-spilled', asOf)
      .filter(during)
      .map(({ fact }) => fact.amount),
    ...book
      .other(furnace, 'poured', asOf)
      .filter(during)
      .map(({ fact }) => poured(view, fact.of)),
  ])
}

/** `rests` tells what later fillings found in ladles. */
export function ladleRow(
  view: View,
  ladle: number,
  rests: ReadonlyMap<number, Grams>,
): BalanceRow | undefined {
  const { book, asOf } = view
  const taps = book.of(ladle, 'ladle-tapped', asOf)
  const moved = book.of(ladle, 'metal-moved', asOf)
  const first = taps[0] ?? moved[0]
  if (!first) return undefined
  const kept = taps.find(({ fact }) => fact.heel !== undefined)?.fact.heel
  const into = together(
    kept === undefined ? { ...NOTHING, open: true } : gauged(kept),
    weighed([...taps, ...moved].map(({ fact }) => fact.amount)),
    weighed(
      book
        .of(ladle, 'ladle-added', asOf)
        .map((line) => line.fact.amount && metalGrams(view, line, asOf)),
    ),
  )
  const out = weighed([
    ...book.other(ladle, 'poured', asOf).map(({ fact }) => poured(view, fact.of)),
    ...book.other(ladle, 'topped-up', asOf).map(({ fact }) => fact.amount),
    ...book.other(ladle, 'metal-moved', asOf).map(({ fact }) => fact.amount),
    ...book.of(ladle, 'metal-spilled', asOf).map(({ fact }) => fact.amount),
  ])
  const next = rests.get(ladle)
  const left =
    next === undefined ? { ...byBook(into.amount - out.amount), open: out.open } : gauged(next)
  return row({ stage: 'ladle', thing: ladle, at: first.fact.at, unit: 'grams' }, into, out, left)
}

/** By filling, what the next one of the same steel was told to have found in it. */
export function restsOf({ book, things, asOf }: View): Map<number, Grams> {
  const fillings = book.all('ladle-tapped', asOf).map(({ fact }) => fact)
  const bySteel = Map.groupBy(
    fillings.filter(({ steel }) => steel !== undefined),
    ({ of, steel }) => `${things.plant(of)} ${steel}`,
  )
  const rests = new Map<number, Grams>()
  for (const own of bySteel.values()) {
    own.sort((a, b) => a.at - b.at)
    own.forEach(({ heel, of }, i) => {
      const before = own[i - 1]
      if (before && before.of !== of && heel !== undefined) rests.set(before.of, heel)
    })
  }
  return rests
}

/** Metal of a pour; undefined where nobody weighed it and no pattern says. */
function poured(view: View, pour: number): Grams | undefined {
  const fact = view.book.of(pour, 'poured', view.asOf)[0]?.fact
  if (!fact) return undefined
  if (fact.amount !== undefined) return fact.amount
  const mold = fact.moldGrams ?? view.castings.moldGrams(pour)
  return mold === undefined ? undefined : mold * (fact.last - fact.first + 1)
}

/** What should still be there; never less than nothing. */
function byBook(amount: number): Side {
  return { amount: Math.max(0, amount), spread: 0, open: false }
}
