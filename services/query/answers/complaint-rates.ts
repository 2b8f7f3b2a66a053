// Do complaints follow what was charged, or where it was made? Over castings shipped.
import { ratesSql, shipmentsOf } from '../analytics/rates-sql.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { type ComplaintsOf, type Heard, market } from '../rates/market.ts'
import type { SplitArgs } from '../rates/split.ts'
import { completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { contractWord } from '../things/amounts.ts'
import { ratesObject } from './rate-rows.ts'
import { assertSplits, nothingIn, splitCastings, splitsTold } from './rates.ts'

export interface ComplaintRatesArgs extends SplitArgs {
  of: ComplaintsOf
}

export async function complaintRates(context: Context, args: ComplaintRatesArgs): Promise<object> {
  const { of, ...splits } = args
  if (!(of.window.from < of.window.to))
    throw refusal('BAD_USER_INPUT', 'of.window.from must lie before of.window.to.')
  assertSplits(args)
  const moment = (await context.snapshot()).at(args.asOf ?? undefined)
  const { view, asOf } = moment
  const { looked, heard } = market(moment, context.plant, of)
  const things = new Set(looked.rows.flatMap((row) => row.things))
  const completeness = await completenessOf(context, view, asOf, {
    on: (no) => things.has(no),
    begins: of.window.from,
    named: [],
  })
  if (looked.rows.length === 0)
    return nothingIn(
      looked,
      completeness,
      'No castings were shipped in this window: ask for a longer one.',
    )
  const split = await splitCastings(context, splits, { moment, looked, until: of.window.to })
  if (typeof split === 'string') return nothingIn(looked, completeness, split)
  return ratesObject(context, {
    ...{ args: splits, moment, looked, completeness, ...split, heard },
    asked: { question: 'complaintRates', args: { of, ...splitsTold(splits) }, asOf },
    title: `Do complaints differ by ${args.by.map(contractWord).join(' and ')}?`,
    until: of.window.to,
    cautions: [delay(heard), TOLD_ONLY],
    counts: 'shipped were complained of',
    sql: () =>
      ratesSql({
        ...{ plant: context.plant, counts: shipmentsOf(context.plant, of) },
        ...{ by: args.by, asked: split.splitting, asOf },
        withoutMisfits: args.withoutMisfits,
      }),
  })
}

const TOLD_ONLY = {
  code: 'told-only',
  sentence:
    'Few who are dissatisfied say so, and which do differs by market: rates are of what was heard, not of what failed.',
}

function delay({ halfWithinDays, mostWithinDays, tooYoung }: Heard) {
  const sentence =
    halfWithinDays === null || mostWithinDays === null
      ? 'No complaint is placed yet, so nobody can say how long they take to come.'
      : `Complaints come late: half within ${days(halfWithinDays)} of shipping, nine in ten within ${days(mostWithinDays)}; ` +
        `${grouped(tooYoung)} castings were shipped less long ago, and more may come.`
  return { code: 'complaints-come-late', sentence }
}

function days(count: number): string {
  return `${count < 10 ? count.toFixed(1) : grouped(count)} days`
}
