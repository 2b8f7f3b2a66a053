// Do defect rates follow what was charged, or where it was made? Groups side by side.
import type { View } from '../../metal/followed.ts'
import {
  type Comparison,
  compareRates,
  type RateRow,
  TOLD_APART,
} from '../../stats/rates/compare.ts'
import { trend } from '../../stats/tables.ts'
import {
  type DefectQuestion,
  type LookedAt,
  lookedAt,
  notLookedAt,
  SURVIVORS,
} from '../causes/looked-at.ts'
import { type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { grouped, listed } from '../estimate.ts'
import { type Counted, countBy } from '../rates/count.ts'
import { type RateBy, type Split, type Splitting, splitBy } from '../rates/split.ts'
import { type Completeness, completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { contractWord } from '../things/amounts.ts'
import { find } from '../things/name.ts'
import { answerId } from './answer-id.ts'
import { ranged } from './capability.ts'

export interface RatesArgs {
  about: DefectQuestion
  by: RateBy[]
  against?: string | null
  ownMetal: number
  lot?: string | null
  step?: string | null
  asOf?: number | null
}

const MOST_GROUPS = 2_000

export async function defectRates(context: Context, args: RatesArgs): Promise<object> {
  const { about, by } = args
  assertAsked(args)
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at(args.asOf ?? undefined)
  const looked = lookedAt(view, context.plant, about)
  const things = new Set(looked.rows.flatMap((row) => row.things))
  const completeness = await completenessOf(context, view, asOf, {
    on: (no) => things.has(no),
    begins: about.window.from,
    named: [],
  })
  const asked = await splittingOf(context, args, asOf)
  const splits = by.map((one) => splitBy(view, context.plant, looked, one, asked))
  const known = splits.filter((split) => split !== undefined)
  const nothing = (sentence: string) => nothingIn(looked, completeness, sentence)
  if (looked.rows.length === 0) return nothing(notLookedAt(view, about))
  if (known.length < splits.length)
    return nothing(`No load went through a step called ${asked.step}.`)
  const counted = countBy(looked, known)
  const { groups } = counted
  if (groups.length === 0)
    return nothing(
      'None of the castings looked at belong to any group: too mixed, or not recorded.',
    )
  if (groups.length > MOST_GROUPS)
    throw refusal('TOO_MUCH', `That makes ${groups.length} groups: split by less.`)
  const names = groups.map((group) => group.join(', '))
  const against = args.against == null ? undefined : names.indexOf(args.against)
  if (against === -1)
    throw refusal('BAD_USER_INPUT', `against is none of the groups: ${listed(names, 12)}.`)
  const compared = compareRates(counted.looked, groups.length, against)
  return answerOf(args, { view, asOf, completeness, counted, compared, names, known })
}

function assertAsked({ about, by, ownMetal, lot, step }: RatesArgs): void {
  const wrong = (sentence: string) => refusal('BAD_USER_INPUT', sentence)
  if (!(about.window.from < about.window.to))
    throw wrong('about.window.from must lie before about.window.to.')
  if (by.length < 1 || by.length > 2 || new Set(by).size < by.length)
    throw wrong('by takes one split, or two that differ.')
  if (!(ownMetal > 0.5 && ownMetal <= 1)) throw wrong('ownMetal must lie above 0.5 and at most 1.')
  if (by.includes('LOT') !== (lot != null))
    throw wrong('lot is given with the split LOT, and only there.')
  if (by.includes('MACHINE') !== (step != null))
    throw wrong('step is given with the split MACHINE, and only there.')
}

async function splittingOf(context: Context, args: RatesArgs, asOf: number): Promise<Splitting> {
  const { ownMetal, lot, step } = args
  const found = lot == null ? undefined : await find(context, { id: lot }, asOf)
  if (found && found.found !== 'one')
    throw refusal(
      'BAD_USER_INPUT',
      `lot: nothing goes by ${lot}. Give the id of a lot, such as lot:3381.`,
    )
  return {
    ownMetal,
    ...(found && { lot: found.no }),
    ...(step != null && { step: contractWord(step) }),
  }
}

function nothingIn({ rows }: LookedAt, completeness: Completeness, sentence: string): object {
  const sum = (of: (row: LookedAt['rows'][number]) => number) =>
    rows.reduce((total, row) => total + of(row), 0)
  return {
    __typename: 'NothingToExplain',
    sentence,
    castings: sum(({ castings }) => castings),
    defective: sum(({ defective }) => defective),
    completeness,
  }
}

interface Worked {
  view: View
  asOf: number
  completeness: Completeness
  counted: Counted
  compared: Comparison
  names: string[]
  known: Split[]
}

/** The GraphQL object Rates. */
function answerOf(args: RatesArgs, worked: Worked): object {
  const { asOf, completeness, counted, compared } = worked
  const { about, by, against, ownMetal, lot, step } = args
  const doses = worked.known.find((split) => split.doses)?.doses
  // Doses by their size; else the largest group first.
  const order = ({ group, castings }: RateRow) =>
    doses ? doses.get(counted.groups[group]!.find((name) => doses.has(name))!)! : -castings
  const told = { about, by, ownMetal, ...(against != null && { against }) }
  return {
    __typename: 'Rates',
    id: answerId({
      question: 'defectRates',
      args: { ...told, ...(lot != null && { lot }), ...(step != null && { step }) },
      asOf,
    }),
    question: `Do defect rates found ${about.stage} differ by ${by.map(contractWord).join(' and ')}?`,
    sentence: sentenceOf(args, worked),
    asOf,
    completeness,
    cautions: CAUTIONS,
    overall: {
      castings: compared.overall.castings,
      defective: compared.overall.defective,
      rate: ranged(compared.overall.rate, CLUSTERED),
    },
    together: compared.together,
    leftOut: counted.leftOut,
    trend: trendOf(worked),
    rows: (page: PageArgs) =>
      pageOfList(
        [...compared.rows].sort((a, b) => order(a) - order(b) || a.group - b.group),
        page,
        (row) => [order(row), row.group],
        (row) => ({ node: rowObject(row, counted.groups[row.group]!) }),
        { list: 'rates', of: told, asOf },
      ),
  }
}

const CLUSTERED = 'Wilson, on counts divided by what castings of one inspection share'

const CAUTIONS = [
  {
    code: 'association-is-not-cause',
    sentence:
      'Groups differ in more than their name: a difference is no proof of a cause. Ask a metallurgist.',
  },
  SURVIVORS,
]

function rowObject(row: RateRow, group: string[]): object {
  const { castings, defective, rate, adjusted, steadied, times, chanceAlone } = row
  return {
    group,
    counted: { castings, defective, rate: ranged(rate, CLUSTERED) },
    adjusted: ranged(adjusted, 'as the plain rate, times what the mix of products makes of it'),
    steadied: ranged(steadied, 'beta, with the spread between groups taken as known'),
    times: times ? ranged(times, 'Greenland and Robins, inside products') : null,
    chanceAlone: chanceAlone ?? null,
    toldApart: (chanceAlone ?? 1) < TOLD_APART,
  }
}

/** Of doses: whether more of the lot means more defects. */
function trendOf({ compared, counted, known }: Worked): object | null {
  const doses = known.find((split) => split.doses)?.doses
  if (!doses || known.length > 1) return null
  const groups = compared.rows.map(({ group, castings, defective, designEffect }) => ({
    dose: doses.get(counted.groups[group]![0]!)!,
    castings: castings / designEffect,
    defective: defective / designEffect,
  }))
  if (groups.length < 2) return null
  const { z, chanceAlone } = trend(groups)
  return { z, chanceAlone }
}

function sentenceOf(args: RatesArgs, { compared, counted, completeness, names }: Worked): string {
  const so = completeness.verdict === 'WHOLE' ? '' : 'So far: '
  const { castings, defective } = compared.overall
  const all = `${grouped(defective)} of ${grouped(castings)} castings are bad`
  const apart = compared.rows
    .filter(({ chanceAlone }) => (chanceAlone ?? 1) < TOLD_APART)
    .sort((a, b) => a.chanceAlone! - b.chanceAlone!)
  const than = args.against == null ? 'the others' : args.against
  const first = apart
    .slice(0, 3)
    .map(({ group, times }) => `${names[group]} ${times!.value.toFixed(2)} times`)
  const left =
    counted.leftOut < 0.5
      ? ''
      : ` ${grouped(counted.leftOut)} castings are in no group: too mixed, or not recorded.`
  return apart.length === 0
    ? `${so}${all}, and none of ${grouped(names.length)} groups differs from ${than} by more than chance.${left}`
    : `${so}${all}. ${grouped(apart.length)} of ${grouped(names.length)} groups differ from ${than} by more than chance: ${listed(first)} as many.${left}`
}
