// Whom to tell of a recall: every customer that got any of it, with the marks that went there, and to whom
// the call was given.
import type { Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { type PageArgs, pageOfList } from '../connections.ts'
import type { Matter } from './matter.ts'
import { sentIn } from './sent.ts'

export interface Call {
  customer: string
  marks: string[]
  castings: number
  /** Whose call it is, and since when. */
  given: { to: string; at: Ms } | undefined
  toldAt: Ms | null
  /** Said to be accounted for. Unit: castings. */
  answered: number
}

export function callsOf(view: View, matter: Matter, args: PageArgs) {
  return pageOfList(
    callsIn(view, matter),
    args,
    ({ castings, customer }) => [castings, customer],
    (call) => ({ node: { ...call, givenTo: call.given?.to ?? null } }),
    { list: 'calls', of: matter.no },
  )
}

/** Of each state of the record, by matter. */
const known = new WeakMap<View, Map<number, readonly Call[]>>()

/** Most castings first. */
export function callsIn(view: View, matter: Matter): readonly Call[] {
  const byMatter = kept(known, view, () => new Map<number, readonly Call[]>())
  return kept(byMatter, matter.no, () => findCalls(view, matter))
}

function findCalls(view: View, matter: Matter): Call[] {
  const { book, asOf } = view
  const calls = new Map<string, Call>()
  for (const node of sentIn(view)) {
    if (node.customer === undefined || !matter.covers.has(node.thing)) continue
    const call = calls.get(node.customer) ?? {
      ...{ customer: node.customer, marks: [], castings: 0 },
      ...{ given: undefined, toldAt: null, answered: 0 },
    }
    call.castings += node.castings
    for (const { fact } of book.of(node.thing, 'pack-marked', asOf))
      if (!call.marks.includes(fact.mark)) call.marks.push(fact.mark)
    calls.set(node.customer, call)
  }
  for (const { fact } of book.of(matter.no, 'call-given', asOf)) {
    const call = calls.get(fact.customer)
    if (call) call.given = { to: fact.to, at: fact.at }
  }
  for (const { fact } of book.of(matter.no, 'customer-told', asOf)) {
    const call = calls.get(fact.customer)
    if (call) call.toldAt = Math.min(fact.at, call.toldAt ?? fact.at)
  }
  for (const { fact } of book.of(matter.no, 'recall-answered', asOf)) {
    const call = calls.get(fact.customer)
    if (call) call.answered += fact.amount
  }
  return [...calls.values()]
    .map((call) => ({ ...call, castings: Math.round(call.castings), marks: call.marks.sort() }))
    .sort((a, b) => b.castings - a.castings || (a.customer < b.customer ? -1 : 1))
}
