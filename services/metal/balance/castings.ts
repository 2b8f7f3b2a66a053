// Castings in against castings out: pours, handlings of loads, packs. Counted in thousandths, as they are
// shared out.
import type { View } from '../followed.ts'
import { type BalanceRow, NOTHING, row, type Side, sum } from './row.ts'

/** A pour: made, out of its molds, still in them; what was passed over is unaccounted for. */
export function pourRow(view: View, pour: number, notSeen: number): BalanceRow | undefined {
  const { book, castings, asOf } = view
  const fact = book.of(pour, 'poured', asOf)[0]?.fact
  if (!fact) return undefined
  const made = sum(castings.unitsOf(pour).map((unit) => thousandths(unit.castings)))
  const standing = thousandths(castings.standingIn(pour))
  const lost = Math.min(standing, notSeen)
  const about = { stage: 'pour', thing: pour, at: fact.at, unit: 'thousandths' } as const
  return row(about, counted(made), counted(made - standing), counted(standing - lost))
}

/** Every handling of a load: what came in, what left the step, what was taken out. */
export function handlingRows(view: View, load: number): BalanceRow[] {
  const { book, asOf } = view
  const removed = book.of(load, 'load-removed', asOf).map(({ fact }) => fact)
  const sources = book.of(load, 'load-source', asOf).map(({ fact }) => fact)
  return book.of(load, 'load-handled', asOf).map(({ fact }) => {
    const { step, pass, from, at } = fact
    const here = (one: { step: string; pass: number; from: number }) =>
      one.step === step && one.pass === pass && one.from === from
    const out = fact.amount + sum(removed.filter(here).map(({ amount }) => amount))
    const fed = sources.filter(here).map(({ amount }) => amount)
    const said =
      fact.castingsIn ??
      (fed.length > 0 && !fed.includes(undefined) ? sum(fed as number[]) : undefined)
    return row(
      { stage: 'handling', step, thing: load, at, unit: 'thousandths' },
      said === undefined ? { ...counted(1000 * out), open: true } : counted(1000 * said),
      counted(1000 * out),
      NOTHING,
    )
  })
}

/** A pack: put in, shipped or packed anew, and what is counted or by the book still in it. */
export function packRow(view: View, pack: number): BalanceRow | undefined {
  const { book, asOf } = view
  const lines = [...book.of(pack, 'pack-line', asOf), ...book.of(pack, 'repacked', asOf)]
  const first = lines[0]
  if (!first) return undefined
  const gone = [
    ...book.other(pack, 'shipped', asOf),
    ...book.other(pack, 'repacked', asOf),
    ...book.other(pack, 'pack-source', asOf),
  ].map(({ fact }) => fact)
  const into = 1000 * sum(lines.map(({ fact }) => fact.amount))
  const out = 1000 * sum(gone.map(({ amount = 0 }) => amount))
  const count = book
    .of(pack, 'stock-counted', asOf)
    .filter(({ fact }) => fact.castings !== undefined)
    .at(-1)?.fact
  const since = count
    ? sum(gone.filter(({ at }) => at > count.at).map(({ amount = 0 }) => amount))
    : 0
  const left = count ? 1000 * Math.max(0, count.castings! - since) : Math.max(0, into - out)
  const open = gone.some(({ amount }) => amount === undefined)
  return row(
    { stage: 'pack', thing: pack, at: first.fact.at, unit: 'thousandths' },
    counted(into),
    { ...counted(out), open },
    counted(left),
  )
}

function counted(amount: number): Side {
  return { amount, spread: 0, open: false }
}

function thousandths(castings: number): number {
  return Math.round(1000 * castings)
}
