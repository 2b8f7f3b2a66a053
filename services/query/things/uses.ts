// What a lot or bin went into or touched.

import type { HeldFact } from '../../store/held-fact.ts'
import { placeOf, placeText } from '../../store/read-in-force.ts'
import { readReports } from '../../store/read-reports.ts'
import { countUses, type FactCursor, readUses } from '../../store/read-things.ts'
import { type Key, type PageArgs, page } from '../connections.ts'
import type { Context } from '../context.ts'
import { plantTime } from './amounts.ts'
import type { Known } from './thing.ts'

/** The connection `usedIn` of a thing, newest first. */
export function usesOf(known: Known) {
  return (args: PageArgs, context: Context) => {
    const { no, asOf } = known
    const { pool } = context.store
    return page(args, {
      ...{ list: 'usedIn', of: no, asOf },
      parts: ['integer', 'string', 'integer'],
      rows: async (after, most) =>
        no === undefined ? [] : readUses(pool, no, { most, after: cursorOf(after), asOf }),
      key: ({ fact, place, n }: HeldFact): Key => [fact.at, placeText(place), n],
      edges: (held) => edges(context, known, held),
      count: () => (no === undefined ? 0 : countUses(pool, no, asOf)),
    })
  }
}

async function edges(context: Context, { asOf }: Known, held: readonly HeldFact[]) {
  const reports = await readReports(
    context.store.pool,
    held.map(({ place }) => place),
  )
  const times = new Map(reports.map(({ place, statement }) => [placeText(place), statement.time]))
  const things = await context.things.many(
    held.map(({ fact }) => fact.of),
    asOf,
  )
  return held.map(({ fact, place }, i) => {
    const grams = 'amount' in fact ? fact.amount : undefined
    return {
      node: things[i]!,
      kg: grams === undefined ? null : { value: grams / 1000, basis: 'REPORTED', interval: null },
      at: plantTime(fact.at, times.get(placeText(place))!),
    }
  })
}

function cursorOf(key: Key | undefined): FactCursor | undefined {
  if (!key) return undefined
  const [at, place, n] = key as [number, string, number]
  const found = placeOf(place)
  return found && { at, place: found, n }
}
