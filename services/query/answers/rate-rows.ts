// Rates side by side as the answers show them.

import type { Ranged } from '../../stats/interval.ts'
import type { Comparison, RateRow } from '../../stats/rates/compare.ts'
import { TOLD_APART } from '../../stats/rates/compare.ts'
import { trend } from '../../stats/tables.ts'
import type { LookedAt } from '../causes/looked-at.ts'
import { type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { type Estimate, grouped, listed } from '../estimate.ts'
import { changeover } from '../rates/changeover.ts'
import { weighedFor } from '../rates/charged.ts'
import type { Counted } from '../rates/count.ts'
import { type Charged, chargedBy } from '../rates/in-metal.ts'
import type { Heard } from '../rates/market.ts'
import { behindAll, type Split, type SplitArgs } from '../rates/split.ts'
import { stretchesOf } from '../rates/stretches.ts'
import type { Completeness } from '../record/completeness.ts'
import type { Moment } from '../record/record-in-hand.ts'
import { misfitHeats } from '../things/fit.ts'
import { recipeObject } from '../things/material-things.ts'
import { type Asked, answerId } from './answer-id.ts'
import { ranged } from './capability.ts'

/** Everything an answer of rates is made of. */
export interface RatesWorked {
  args: SplitArgs
  moment: Moment
  looked: LookedAt
  completeness: Completeness
  counted: Counted
  compared: Comparison
  names: string[]
  known: Split[]
  /** Heats that were left out on request. */
  misfits?: ReadonlySet<number>
  asked: Asked
  /** The question as one sentence. */
  title: string
  /** Nothing counted was poured after this. */
  until: number
  cautions: { code: string; sentence: string }[]
  /** What is counted of castings, in words. */
  counts: string
  /** The same as a question to the tables of analysts. */
  sql: () => string
  /** Of complaints, what was heard. */
  heard?: Heard
}

/** The GraphQL object Rates. */
export function ratesObject(context: Context, worked: RatesWorked): object {
  const { asked, completeness, counted, compared, known, args } = worked
  const { view, asOf } = worked.moment
  const doses = known.find((split) => split.doses)?.doses
  const metal = known.find((split) => split.metal)?.metal
  // Of two splits nobody asks when; each by itself tells.
  const stretches = known.length === 1 ? stretchesOf(view, worked.looked, known[0]!) : undefined
  const stretch = (group: number) => stretches?.get(counted.groups[group]![0]!)
  // Doses by their size, recipes in order of first use; else the largest group first.
  const order = ({ group, castings }: RateRow) => {
    if (doses) return doses.get(counted.groups[group]!.find((name) => doses.has(name))!)!
    return args.by.includes('RECIPE') ? (stretch(group)?.from ?? 0) : -castings
  }
  const recipes = args.by.includes('RECIPE') ? chargedBy(view, context.plant) : []
  return {
    __typename: 'Rates',
    id: answerId(asked),
    question: worked.title,
    sentence: sentenceOf(worked),
    asOf,
    completeness,
    cautions: [ASSOCIATION, ...worked.cautions],
    overall: {
      castings: compared.overall.castings,
      defective: compared.overall.defective,
      rate: ranged(compared.overall.rate, CLUSTERED),
    },
    together: compared.together,
    heard: worked.heard ?? null,
    sql: worked.sql,
    leftOut: counted.leftOut,
    tooMixed: counted.tooMixed,
    misfitHeats: () => misfitsBehind(context, worked),
    withoutCastings: counted.without,
    trend: trendOf(worked),
    changeover: () => (metal ? changeover(view, context.plant, worked.looked, metal) : null),
    rows: (page: PageArgs) =>
      pageOfList(
        [...compared.rows].sort((a, b) => order(a) - order(b) || a.group - b.group),
        page,
        (row) => [order(row), row.group],
        (row) => {
          const group = counted.groups[row.group]!
          const recipe = recipes.find(({ name }) => group.includes(name))
          return {
            node: {
              ...rowObject(row, group),
              stretch: stretch(row.group) ?? null,
              charged: () => (recipe ? chargedOf(context, worked, recipe) : []),
            },
          }
        },
        { list: 'rates', of: asked.args, asOf },
      ),
  }
}

const CLUSTERED = 'Wilson, on counts divided by what castings of one inspection share'

const ASSOCIATION = {
  code: 'association-is-not-cause',
  sentence:
    'Groups differ in more than their name: a difference is no proof of a cause. Ask a metallurgist.',
}

function rowObject(row: RateRow, group: string[]): object {
  const { castings, defective, rate, adjusted, steadied, times, chanceAlone } = row
  return {
    group,
    counted: { castings, defective, rate: ranged(rate, CLUSTERED) },
    adjusted: ranged(adjusted, 'as the plain rate, times what the mix makes of it'),
    steadied: ranged(steadied, 'beta, with the spread between groups taken as known'),
    times: timesObject(times),
    chanceAlone: chanceAlone ?? null,
    toldApart: (chanceAlone ?? 1) < TOLD_APART,
  }
}

/** Over nothing there is no ratio, and of nothing none with an end. */
function timesObject(times: Ranged | undefined): Estimate | null {
  return times && isTold(times) ? ranged(times, 'Greenland and Robins, inside products') : null
}

function isTold({ value, high }: Ranged): boolean {
  return Number.isFinite(value) && Number.isFinite(high)
}

/** Heats behind the castings looked at whose samples do not fit what was charged. */
function misfitsBehind(context: Context, { moment, misfits, looked, until }: RatesWorked): number {
  const told = misfits ?? misfitHeats(moment, context.plant, until)
  const { units, inspected } = looked
  const used = [...new Set(inspected.makeups[0]!.unit)].map((unit) => units[unit]!)
  const behind = new Set([...behindAll(moment.view, used).values()].map(({ heat }) => heat))
  return [...told].filter((heat) => behind.has(heat)).length
}

/** Of doses: whether more of it means more defects. */
function trendOf({ compared, counted, known }: RatesWorked): object | null {
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

/** The GraphQL objects MaterialShare: as weighed for a recipe beside as written in it, the most first. */
async function chargedOf(
  context: Context,
  { moment: { view, asOf }, until }: RatesWorked,
  { recipe, revision, charges }: Charged,
): Promise<object[]> {
  const weighed = weighedFor(view, charges, until)
  const all = [...weighed.values()].reduce((sum, grams) => sum + grams, 0)
  const known = { plant: context.plant, asOf }
  const lines = await recipeObject(context, known, { id: recipe, revision }).lines()
  const written = new Map<string, number>()
  for (const { material, percent } of lines)
    written.set(material, (written.get(material) ?? 0) + percent)
  return [...new Set([...weighed.keys(), ...written.keys()])]
    .map((material) => ({
      material,
      // A hundredth of 10.1 is no number of the machine: what was written comes back as it was.
      written: written.has(material)
        ? Number((written.get(material)! / 100).toPrecision(14))
        : null,
      weighed: all > 0 ? (weighed.get(material) ?? 0) / all : null,
      weighedKg: (weighed.get(material) ?? 0) / 1000,
    }))
    .sort((a, b) => b.weighedKg - a.weighedKg || (a.material < b.material ? -1 : 1))
}

function sentenceOf(worked: RatesWorked): string {
  const { args, compared, counted, completeness, names, misfits, counts } = worked
  const so = completeness.verdict === 'WHOLE' ? '' : 'So far: '
  const { castings, defective } = compared.overall
  const all = `${grouped(defective)} of ${grouped(castings)} castings ${counts}`
  const apart = compared.rows
    .filter(({ chanceAlone }) => (chanceAlone ?? 1) < TOLD_APART)
    .sort((a, b) => a.chanceAlone! - b.chanceAlone!)
  const than = args.against == null ? 'the others' : args.against
  const first = apart.slice(0, 3).map(({ group, times }) => `${names[group]} ${inTimes(times!)}`)
  const left =
    (counted.leftOut < 0.5
      ? ''
      : ` ${grouped(counted.leftOut)} ${counted.leftOut < 1.5 ? 'casting is' : 'castings are'} in no group: too mixed, or not recorded.`) +
    (misfits
      ? ` ${grouped(counted.without)} of heats that do not fit their charge are left out.`
      : '')
  if (names.length === 1)
    return `${so}${all}. All castings are in one row, ${names[0]}; choose another split.${left}`
  return apart.length === 0
    ? `${so}${all}, and none of ${grouped(names.length)} groups differs from ${than} by more than chance.${left}`
    : `${so}${all}. ${grouped(apart.length)} of ${grouped(names.length)} groups ${apart.length === 1 ? 'differs' : 'differ'} from ${than} by more than chance: ${listed(first)}.${left}`
}

function inTimes(times: Ranged): string {
  if (times.value === 0) return 'none at all'
  return isTold(times)
    ? `${times.value.toFixed(2)} times as many`
    : 'some where there are none else'
}
