// What became of what a recall covers, and what is not yet known.
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { castingsIn, type Matter } from './matter.ts'
import { sentIn } from './sent.ts'

/** Of each state of the record, by matter. */
const known = new WeakMap<View, Map<number, Found>>()

/** The GraphQL object RecallFound. */
type Found = ReturnType<typeof findOf>

export function foundOf(view: View, matter: Matter): Found {
  const byMatter = kept(known, view, () => new Map<number, Found>())
  return kept(byMatter, matter.no, () => findOf(view, matter))
}

function findOf(view: View, matter: Matter) {
  const answers = view.book.of(matter.no, 'recall-answered', view.asOf).map(({ fact }) => fact)
  const became = new Map<string, number>()
  const add = (what: string, castings: number) =>
    became.set(what, (became.get(what) ?? 0) + castings)
  for (const { what, castings } of disposedOf(view, matter)) add(what, castings)
  for (const { outcome, amount } of answers) add(outcome, amount)
  const all = sum([...matter.covers.keys()].map((no) => coveredCastings(view, matter, no)))
  const shipped = shippedOf(view, matter)
  return {
    castings: Math.round(all),
    shipped: Math.round(shipped),
    parts: [...became].map(([what, castings]) => ({
      became: what.toUpperCase().replaceAll('-', '_'),
      castings: Math.round(castings),
    })),
    notKnown: Math.max(0, Math.round(all - sum([...became.values()]))),
    effectiveness:
      shipped > 0 ? Math.min(1, sum(answers.map(({ amount }) => amount)) / shipped) : null,
  }
}

/** The last said of each thing under the matter, with how many castings of it. */
export function disposedOf(
  view: View,
  matter: Matter,
): { of: number; what: string; castings: number }[] {
  const last = new Map(
    view.book.other(matter.no, 'disposed', view.asOf).map(({ fact }) => [fact.of, fact]),
  )
  return [...last.values()].map(({ of, decision, amount }) => ({
    of,
    what: decision,
    castings: amount ?? coveredCastings(view, matter, of),
  }))
}

function coveredCastings(view: View, { covers }: Matter, no: number): number {
  return covers.get(no) ?? castingsIn(view, no)
}

/** Castings of what is covered that left with a shipment. */
function shippedOf(view: View, { covers }: Matter): number {
  let castings = 0
  for (const node of sentIn(view))
    if (node.place === 'SHIPPED' && covers.has(node.thing)) castings += node.castings
  return castings
}

function sum(numbers: readonly number[]): number {
  return numbers.reduce((total, n) => total + n, 0)
}
