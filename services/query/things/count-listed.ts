// How many there are in a list. Counted over the record in hand: the database would have to look up every
// statement of them, and all that decides about it.
import type { Noted } from '../../metal/fact-book.ts'
import type { View } from '../../metal/followed.ts'
import type { Listed } from '../../store/read-lists.ts'
import type { Context } from '../context.ts'

/** Of the facts in force that fit, how many differ in this. */
export async function countListed(
  context: Context,
  listed: Listed,
  of: (noted: Noted) => unknown,
): Promise<number> {
  const { view } = (await context.snapshot()).at()
  const counted = new Set<unknown>()
  for (const sort of listed.sorts)
    for (const noted of view.book.all(sort, view.asOf))
      if (fits(view, noted, listed)) counted.add(of(noted))
  return counted.size
}

/** As `readList` asks it of the database. */
function fits({ things, book, asOf }: View, { fact, said }: Noted, listed: Listed): boolean {
  const { plant, via, words = [], recipe, from, to } = listed
  const members = fact as unknown as Readonly<Record<string, unknown>>
  return (
    things.plant(fact.of) === plant &&
    (from === undefined || fact.at >= from) &&
    (to === undefined || fact.at < to) &&
    (via === undefined || members.via === via) &&
    words.every((word) => word.in.some((member) => members[member] === word.is)) &&
    (recipe === undefined ||
      book
        .of(fact.of, 'recipe-followed', asOf)
        .some((followed) => followed.said === said && followed.fact.recipe === recipe))
  )
}
