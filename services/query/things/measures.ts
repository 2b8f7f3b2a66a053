// Measured values as the answers show them, with what they are held to.
import type { FactOf } from '../../events/fact.ts'
import type { Quantity } from '../../events/field.ts'
import { isOutside, limitsFor, type Measured } from '../../metal/limits.ts'
import { type Connection, type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { boundsOf, estimate, plantTime } from './amounts.ts'
import { reportObject } from './reports.ts'
import { isShown, type Known } from './thing.ts'

/** The GraphQL object Measure of a reading; `more` tells when and which report. */
export function measureOf(
  { asOf, plant }: Pick<Known, 'asOf' | 'plant'>,
  fact: FactOf<'measured'>,
  more: { at: string; report: object },
): object {
  const { quantity, amount, unit, spread, bound } = fact
  const reading: Quantity = { value: amount, ...(spread !== undefined && { spread }) }
  const limits = async (context: Context) => {
    const { view } = (await context.snapshot()).at(asOf)
    const of = view.things.numberOf(plant, fact.of)
    return of === undefined ? undefined : limitsFor(view, { ...fact, of })
  }
  return {
    quantity,
    unit,
    value: estimate(reading),
    ...boundsOf({ bound }),
    ...more,
    lowestAllowed: async (_: unknown, context: Context) => (await limits(context))?.low ?? null,
    highestAllowed: async (_: unknown, context: Context) => (await limits(context))?.high ?? null,
    outside: async (_: unknown, context: Context) => {
      const held = await limits(context)
      return held ? (isOutside(fact, held) ?? null) : null
    },
  }
}

/** Everything measured of a thing, by time. */
export async function measures(context: Context, known: Known): Promise<object[]> {
  const { no, name, asOf } = known
  if (no === undefined) return []
  const accounts = await context.things.accounts(no, asOf)
  return accounts.flatMap(({ facts, time, report }) =>
    facts
      .filter((fact): fact is FactOf<'measured'> => fact.what === 'measured' && fact.of === name)
      .map((fact) =>
        measureOf(known, fact, {
          at: plantTime(fact.at, time),
          report: reportObject(context, report),
        }),
      ),
  )
}

interface OutOfLimitsArgs extends PageArgs {
  window?: { from: number; to: number } | null
  quantity?: string | null
}

/** Measured values that lie outside the limits they are held to, newest first. */
export async function outOfLimits(
  context: Context,
  args: OutOfLimitsArgs,
): Promise<Connection<{ node: object; measure: object }>> {
  const { view, asOf } = (await context.snapshot()).at()
  const { from = Number.NEGATIVE_INFINITY, to = Number.POSITIVE_INFINITY } = args.window ?? {}
  const rows: Measured[] = []
  for (const { fact } of view.book.all('measured', view.asOf)) {
    if (fact.at < from || fact.at >= to) continue
    if (args.quantity != null && fact.quantity !== args.quantity) continue
    if (view.things.plant(fact.of) !== context.plant || !isShown(view.things.kind(fact.of)))
      continue
    const limits = limitsFor(view, fact)
    if (limits && isOutside(fact, limits)) rows.push(fact)
  }
  rows.sort((a, b) => b.at - a.at || b.of - a.of || (a.quantity < b.quantity ? -1 : 1))
  return pageOfList(
    rows,
    args,
    ({ at, of, quantity, amount }) => [at, of, quantity, amount],
    async (row) => ({
      node: await context.things.one(row.of, asOf),
      measure: await measureIn(context, row, asOf),
    }),
    { list: 'out-of-limits' },
  )
}

/** The reading as its report shows it. */
async function measureIn(context: Context, row: Measured, asOf: number): Promise<object> {
  for (const { facts, time, report } of await context.things.accounts(row.of, asOf)) {
    const fact = facts.find(
      (one): one is FactOf<'measured'> =>
        one.what === 'measured' &&
        one.quantity === row.quantity &&
        one.at === row.at &&
        one.amount === row.amount,
    )
    if (fact) {
      const more = { at: plantTime(fact.at, time), report: reportObject(context, report) }
      return measureOf({ asOf, plant: context.plant }, fact, more)
    }
  }
  throw new Error(`no report says ${row.quantity} of thing ${row.of}`)
}
