// Is everything accounted for? In against out by step of the work, of one thing or of a stretch of time.

import { type BalanceRow, isWithin, TOLERATED } from '../../metal/balance/row.ts'
import { type BalanceSum, balanceDuring, balanceOf, sumsOf } from '../../metal/balance.ts'
import type { View } from '../../metal/followed.ts'
import { type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { grouped, listed } from '../estimate.ts'
import { type Completeness, completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { enumWord } from '../things/amounts.ts'
import { find, notOne } from '../things/name.ts'
import type { ThingBy } from '../things/thing.ts'
import { answerId } from './answer-id.ts'

type Of = { thing: ThingBy } | { window: { from: number; to: number } }

export interface ReconcileArgs {
  of: Of
  asOf?: number | null
}

const LONGEST_MS = 366 * 24 * 3600 * 1000

export async function reconcile(context: Context, { of, ...args }: ReconcileArgs): Promise<object> {
  const { view, asOf } = (await context.snapshot()).at(args.asOf ?? undefined)
  if ('window' in of) {
    const { from, to } = of.window
    if (!(from < to)) throw refusal('BAD_USER_INPUT', 'window.from must lie before window.to.')
    if (to - from > LONGEST_MS)
      throw refusal('BAD_USER_INPUT', 'window is longer than a year: ask for a shorter stretch.')
    const rows = balanceDuring(view, context.plant, from, to)
    return answer(context, view, asOf, of, rows, 'that time', { begins: from, named: [] })
  }
  const found = await find(context, of.thing, asOf)
  if (found.found !== 'one') return notOne(context, found, asOf)
  const rows = balanceOf(view, found.no)
  const name = view.things.name(found.no)
  if (!rows)
    throw refusal(
      'BAD_USER_INPUT',
      `of.thing is ${name}: a balance is of a lot, charge, heat, ladle, pour, load or pack.`,
    )
  const rests = { begins: Number.NEGATIVE_INFINITY, named: [found.no] }
  return answer(context, view, asOf, of, rows, name, rests)
}

async function answer(
  context: Context,
  view: View,
  asOf: number,
  of: Of,
  rows: BalanceRow[],
  about: string,
  rests: { begins: number; named: number[] },
): Promise<object> {
  const told = new Set(rows.map(({ thing }) => thing))
  const completeness = await completenessOf(context, view, asOf, {
    on: (no) => told.has(no),
    ...rests,
  })
  const sums = sumsOf(rows)
  return {
    __typename: 'Balance',
    id: answerId({ question: 'reconcile', args: { of }, asOf }),
    question: `Is everything of ${about} accounted for?`,
    sentence: sentenceOf(sums, completeness),
    asOf,
    completeness,
    cautions: [
      {
        code: 'weighing-adds-up',
        sentence:
          'Tolerances are three standard deviations of the weighings; where no scale says its own error, half a percent is taken and counted as shared by all weighings of a step.',
      },
    ],
    steps: sums.map(stepObject),
    rows: (more: PageArgs & { beyond?: boolean | null }) =>
      rowsPage(context, asOf, more.beyond ? rows.filter((row) => !isWithin(row)) : rows, more),
  }
}

function sentenceOf(sums: readonly BalanceSum[], { verdict }: Completeness): string {
  const start = verdict === 'WHOLE' ? '' : 'So far: '
  if (sums.length === 0) return `${start}No report in force says what came in or went out.`
  const off = sums.filter((sum) => !sum.within)
  const beyond = sums.reduce((count, sum) => count + sum.beyond, 0)
  const single =
    beyond === 0
      ? ''
      : ` ${grouped(beyond)} single ${beyond === 1 ? 'row is' : 'rows are'} off by more than weighing and counting leave open.`
  if (off.length === 0)
    return `${start}All ${sums.length} steps add up within what weighing leaves open.${single}`
  return `${start}${listed(off.map(offWords))}; the other steps add up.${single}`
}

function offWords(sum: BalanceSum): string {
  const amount = shown(Math.abs(sum.unaccounted))
  const unit = sum.unit === 'grams' ? 'kg' : 'castings'
  const way = sum.unaccounted > 0 ? 'are missing' : 'too many went out'
  return `${grouped(amount)} ${unit} ${way} at ${STAGE_WORDS[sum.stage]}${sum.step ? ` ${sum.step}` : ''}`
}

const STAGE_WORDS: Record<BalanceRow['stage'], string> = {
  lot: 'lots',
  charge: 'charges',
  heat: 'heats',
  ladle: 'ladles',
  pour: 'pours',
  handling: 'the step',
  pack: 'packs',
}

function stepObject(sum: BalanceSum): object {
  return {
    ...figures(sum),
    things: sum.things,
    open: sum.open,
    beyond: sum.beyond,
    tolerance: shown(sum.tolerance),
    within: sum.within,
  }
}

function figures(row: Omit<BalanceRow, 'thing' | 'at' | 'spread' | 'open'> | BalanceSum): object {
  const { stage, step, unit } = row
  return {
    stage: stage.toUpperCase(),
    step: step === undefined ? null : enumWord(step),
    unit: unit === 'grams' ? 'KGM' : 'H87',
    in: shown(row.in),
    out: shown(row.out),
    left: shown(row.left),
    unaccounted: shown(row.unaccounted),
  }
}

/** Kg of grams, castings of thousandths. */
function shown(amount: number): number {
  return amount / 1000
}

function rowsPage(context: Context, asOf: number, rows: readonly BalanceRow[], args: PageArgs) {
  return pageOfList(
    rows.map((row, place) => ({ ...row, place })),
    args,
    ({ place, thing }) => [place, thing],
    async (row) => ({
      ...figures(row),
      node: await context.things.one(row.thing, asOf),
      tolerance: shown(TOLERATED * row.spread),
      within: isWithin(row),
      open: row.open,
    }),
    { list: 'balance', asOf },
  )
}
