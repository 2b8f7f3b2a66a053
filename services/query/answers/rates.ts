// Do defect rates follow what was charged, or where it was made? Groups side by side.
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { compareRates } from '../../stats/rates/compare.ts'
import { looksOf, ratesSql } from '../analytics/rates-sql.ts'
import {
  type DefectQuestion,
  type LookedAt,
  lookedAt,
  notLookedAt,
  SURVIVORS,
} from '../causes/looked-at.ts'
import { behindOf } from '../causes/poured-factors.ts'
import type { Context } from '../context.ts'
import { listed } from '../estimate.ts'
import { countBy } from '../rates/count.ts'
import { type Fair, fairFor } from '../rates/fair.ts'
import { lotsBy } from '../rates/in-metal.ts'
import { assertShifts } from '../rates/plant-time.ts'
import {
  DOSED,
  type RateBy,
  type Split,
  type SplitArgs,
  type Splitting,
  splitBy,
} from '../rates/split.ts'
import { type Completeness, completenessOf } from '../record/completeness.ts'
import type { Moment } from '../record/record-in-hand.ts'
import { refusal } from '../refusal.ts'
import { contractWord } from '../things/amounts.ts'
import { misfitHeats } from '../things/fit.ts'
import { find } from '../things/name.ts'
import { ratesObject } from './rate-rows.ts'

export interface RatesArgs extends SplitArgs {
  about: DefectQuestion
}

const MOST_GROUPS = 2_000

export async function defectRates(context: Context, args: RatesArgs): Promise<object> {
  const { about } = args
  if (!(about.window.from < about.window.to))
    throw refusal('BAD_USER_INPUT', 'about.window.from must lie before about.window.to.')
  assertSplits(args)
  const moment = (await context.snapshot()).at(args.asOf ?? undefined)
  const { view, asOf } = moment
  const looked = lookedAt(view, context.plant, about)
  const things = new Set(looked.rows.flatMap((row) => row.things))
  const completeness = await completenessOf(context, view, asOf, {
    on: (no) => things.has(no),
    begins: about.window.from,
    named: [],
  })
  if (looked.rows.length === 0) return nothingIn(looked, completeness, notLookedAt(view, about))
  const split = await splitCastings(context, args, { moment, looked, until: about.window.to })
  if (typeof split === 'string') return nothingIn(looked, completeness, split)
  return ratesObject(context, {
    ...{ args, moment, looked, completeness, ...split },
    asked: { question: 'defectRates', args: { about, ...splitsTold(args) }, asOf },
    title: `Do defect rates found ${about.stage} differ by ${args.by.map(contractWord).join(' and ')}?`,
    until: about.window.to,
    cautions: [SURVIVORS],
    counts: 'are bad',
    sql: () =>
      ratesSql({
        ...{ plant: context.plant, counts: looksOf(context.plant, about) },
        ...{ by: args.by, asked: split.splitting, asOf },
        withoutMisfits: args.withoutMisfits,
      }),
  })
}

/** Arguments that the number of an answer holds. */
export function splitsTold({ asOf: _, ...args }: SplitArgs & { about?: unknown }): object {
  const { about: __, ...told } = args
  return Object.fromEntries(Object.entries(told).filter(([, value]) => value != null))
}

const wrong = (sentence: string) => refusal('BAD_USER_INPUT', sentence)

export function assertSplits(args: SplitArgs): void {
  const { by, ownMetal, step, shifts, adjustFor } = args
  if (by.length < 1 || by.length > 2 || new Set(by).size < by.length)
    throw wrong('by takes one split, or two that differ.')
  if (!(ownMetal > 0.5 && ownMetal <= 1)) throw wrong('ownMetal must lie above 0.5 and at most 1.')
  for (const dosed of DOSED) {
    const name = dosed.toLowerCase() as Lowercase<typeof dosed>
    if (by.includes(dosed) !== (args[name] != null))
      throw wrong(`${name} is given with the split ${dosed}, and only there.`)
  }
  if (by.includes('MACHINE') !== (step != null))
    throw wrong('step is given with the split MACHINE, and only there.')
  if (adjustFor?.some((one) => !(ADJUST_FOR as readonly RateBy[]).includes(one)))
    throw wrong(`adjustFor takes ${ADJUST_FOR.join(', ')}.`)
  assertShifts(shifts)
}

const ADJUST_FOR = ['FURNACE', 'LINE', 'PATTERN', 'CAVITY', 'PRODUCT', 'DAY', 'SHIFT'] as const

/** What is split, and up to when anything may have been poured. */
interface Castings {
  moment: Moment
  looked: LookedAt
  until: number
}

/** Castings by group, compared; a sentence where there is nothing to compare. */
export async function splitCastings(context: Context, args: SplitArgs, of: Castings) {
  const { moment, looked } = of
  const { view, asOf } = moment
  const asked = await splittingOf(context, args, moment)
  const splits = args.by.map((by) => splitBy(view, context.plant, looked, by, asked))
  const known = splits.filter((split): split is Split => split !== undefined)
  if (known.length < splits.length) return `No load went through a step called ${asked.step}.`
  const misfits = args.withoutMisfits
    ? misfitHeats({ view, asOf }, context.plant, of.until)
    : undefined
  const drop = misfits && unitsOf(view, looked, misfits)
  const counted = countBy(looked, known, drop)
  const { groups } = counted
  if (groups.length === 0)
    return 'None of the castings looked at belong to any group: too mixed, or not recorded.'
  if (groups.length > MOST_GROUPS)
    throw refusal('TOO_MUCH', `That makes ${groups.length} groups: split by less.`)
  const names = groups.map((group) => group.join(', '))
  const against = args.against == null ? undefined : names.indexOf(args.against)
  if (against === -1) throw wrong(`against is none of the groups: ${listed(names, 12)}.`)
  const fair = fairFor(
    looked,
    known,
    counted,
    adjusting(context, args, moment, looked, asked),
    drop,
  )
  return {
    ...{ counted, names, known, splitting: asked, ...(misfits && { misfits }) },
    compared: compareRates(counted.looked, groups.length, against, fair),
  }
}

function adjusting(
  { plant }: Context,
  { adjustFor = ['PRODUCT'] }: SplitArgs,
  { view }: Moment,
  looked: LookedAt,
  asked: Splitting,
): Fair {
  return {
    byProduct: adjustFor.includes('PRODUCT'),
    splits: adjustFor
      .filter((one) => one !== 'PRODUCT')
      .flatMap((one) => splitBy(view, plant, looked, one, asked) ?? []),
  }
}

/** Which castings are of some heats. */
function unitsOf(view: View, { units }: LookedAt, heats: ReadonlySet<number>): boolean[] {
  const of = new Map<number, boolean>()
  return units.map(({ pour }) =>
    kept(of, pour, () => {
      const { heat } = behindOf(view, pour)
      return heat !== undefined && heats.has(heat)
    }),
  )
}

async function splittingOf(
  context: Context,
  args: SplitArgs,
  { view, asOf }: Moment,
): Promise<Splitting> {
  const { ownMetal, lot, step, shifts } = args
  const asked: Splitting = {
    ...{ ownMetal, shifts, dosed: {} },
    ...(step != null && { step: contractWord(step) }),
  }
  if (lot != null) {
    const found = await find(context, { id: lot }, asOf)
    if (found.found !== 'one')
      throw wrong(`lot: nothing goes by ${lot}. Give the id of a lot, such as lot:3381.`)
    asked.dosed.LOT = { name: view.things.name(found.no), lots: [found.no] }
  }
  for (const word of ['supplier', 'material'] as const) {
    const name = args[word]
    if (name == null) continue
    const known = lotsBy(view, context.plant, word)
    const lots = known.get(name)
    if (!lots)
      throw wrong(
        `${word}: no lot of ${name} was received. In the record are ${listed([...known.keys()].sort(), 20)}.`,
      )
    asked.dosed[word === 'supplier' ? 'SUPPLIER' : 'MATERIAL'] = { name, lots }
  }
  return asked
}

export function nothingIn(
  { rows }: LookedAt,
  completeness: Completeness,
  sentence: string,
): object {
  const sum = (of: (row: LookedAt['rows'][number]) => number) =>
    Math.round(rows.reduce((total, row) => total + of(row), 0))
  return {
    __typename: 'NothingToExplain',
    sentence,
    castings: sum(({ castings }) => castings),
    defective: sum(({ defective }) => defective),
    completeness,
  }
}
