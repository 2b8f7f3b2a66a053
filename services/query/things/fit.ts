// Samples against what was charged, as the answers show it. Worked out for a stretch of heats at once and
// kept while the record stays as it is.
import type { Ms } from '../../events/fact.ts'
import { type MisfitCause, rankCauses } from '../../metal/chemistry/fit/causes.ts'
import { type Fitted, fitHeats } from '../../metal/chemistry/fit/filter.ts'
import { sourceOf, stepsOf } from '../../metal/chemistry/fit/heats.ts'
import type { View } from '../../metal/followed.ts'
import { chiSquareAbove } from '../../stats/distributions.ts'
import { type Connection, type PageArgs, pageOfList } from '../connections.ts'
import type { Context } from '../context.ts'
import { type Estimate, inWords } from '../estimate.ts'
import type { Moment } from '../record/record-in-hand.ts'
import type { Known } from './thing.ts'

/** Heats that one fit goes through; what came before them has left the baths long since. */
const MOST_HEATS = 3000
const NORMAL_95 = 1.959964
const END = Number.POSITIVE_INFINITY

interface Kept {
  before: Ms
  plant: string
  fits: ReadonlyMap<number, Fitted>
}

/** Of each state of the record. */
const kept = new WeakMap<View, Kept[]>()
const FITS_KEPT = 4

/** Fits by heat, of the newest heats that begin before a moment. */
function fitsOf(view: View, plant: string, before: Ms): ReadonlyMap<number, Fitted> {
  const known = kept.get(view) ?? []
  const same = known.find((one) => one.before === before && one.plant === plant)
  if (same) return same.fits
  const steps = stepsOf(view, plant, MOST_HEATS, before)
  const fitted = fitHeats(steps, (no) => sourceOf(view, no), chiSquareAbove)
  const fits = new Map(fitted.map((one) => [one.heat, one]))
  kept.set(view, [{ before, plant, fits }, ...known].slice(0, FITS_KEPT))
  return fits
}

/** Heats told apart among the newest that begin before a moment. */
export function misfitHeats({ view }: Moment, plant: string, before: Ms): Set<number> {
  const told = [...fitsOf(view, plant, before).values()].filter(({ toldApart }) => toldApart)
  return new Set(told.map(({ heat }) => heat))
}

/** Heats with a sample held against what was charged, of the newest that begin before a moment. */
export function fittedHeats({ view }: Moment, plant: string, before: Ms): Fitted[] {
  return [...fitsOf(view, plant, before).values()]
}

/** How the sample of a heat fits; undefined where there is none, or nothing to hold it against. */
export async function fitOf(
  context: Context,
  { no, plant, asOf: then }: Known,
): Promise<Fitted | undefined> {
  if (no === undefined) return undefined
  const { view } = (await context.snapshot()).at(then)
  const begun = view.book.of(no, 'heat-begun', view.asOf)[0]
  if (!begun) return undefined
  return fitsOf(view, plant, END).get(no) ?? fitsOf(view, plant, begun.fact.at + 1).get(no)
}

/** The GraphQL object Chemistry of what a heat was predicted to hold. */
export function predicted({ innovations }: Fitted): object {
  return {
    elements: innovations.map(({ symbol, predicted: value, spread }) => ({
      symbol,
      percent: estimated(Math.max(0, value), spread),
      lessThan: false,
      moreThan: false,
      outsideMethod: false,
    })),
    carbonEquivalentPercent: null,
    saturation: null,
    figures: [],
  }
}

/** The GraphQL object Misfit. */
export function misfit(context: Context, known: Pick<Known, 'asOf'>, fitted: Fitted): object {
  const { innovations, toldApart, chance } = fitted
  const loudest = innovations.reduce((a, b) => (sizeOf(b) > sizeOf(a) ? b : a))
  const { symbol, read, predicted: expected, spread } = loudest
  const causes = toldApart ? rankCauses(fitted).slice(0, MOST_CAUSES) : []
  const thing = (no: number | undefined) => () =>
    no === undefined ? null : context.things.one(no, known.asOf)
  return {
    toldApart,
    chanceAlone: chance,
    symbol,
    differencePercent: estimated(read - expected, spread),
    causes: causes.map((cause) => ({
      sort: cause.sort.replaceAll('-', '_').toUpperCase(),
      chance: cause.chance,
      of: thing(cause.of),
      other: thing(cause.other),
      times: cause.times ?? null,
    })),
    sentence: async () => {
      if (!toldApart)
        return `The sample fits what was charged: a difference this large comes about by chance in ${inWords(chance)}.`
      return (
        `The sample shows ${round(read)} % ${symbol} where ${round(expected)} % was to be expected: ` +
        `this does not come about by weighing and analysis. ${await likely(context, known, causes)}`
      )
    },
  }
}

const MOST_CAUSES = 5

async function likely(
  context: Context,
  { asOf }: Pick<Known, 'asOf'>,
  causes: readonly MisfitCause[],
): Promise<string> {
  const [first] = causes
  if (!first) return ''
  const name = async (no: number | undefined) =>
    no === undefined ? 'something' : (await context.things.one(no, asOf)).id
  const chance = inWords(first.chance)
  switch (first.sort) {
    case 'lot-swapped':
      return `Likeliest (${chance}): not ${await name(first.of)} went in, but something like ${await name(first.other)}.`
    case 'lot-otherwise':
      return `Likeliest (${chance}): ${await name(first.of)} is not what its analysis, or its like, lets expect.`
    case 'weight-slipped':
      return `Likeliest (${chance}): the weight of ${await name(first.of)} was written down about ${first.times} times what it was.`
    case 'line-missed':
      return `Likeliest (${chance}): something like ${await name(first.other)} went in besides, and nobody wrote it down.`
    case 'heel-otherwise':
      return `Likeliest (${chance}): the furnace held about ${first.times} times the heel that was taken.`
    case 'none-of-these':
      return `Likeliest (${chance}) is something else than a lot, a weight or a heel.`
  }
}

/** Heats told apart among those that are fitted together with the newest. */
export function misfitsNow(view: View, plant: string): Fitted[] {
  return [...fitsOf(view, plant, END).values()].filter(({ toldApart }) => toldApart)
}

interface MisfitsArgs extends PageArgs {
  window?: { from: number; to: number } | null
  furnace?: string | null
}

/** Heats told apart, newest first. */
export async function misfits(
  context: Context,
  args: MisfitsArgs,
): Promise<Connection<{ node: object; misfit: object }>> {
  const { view, asOf } = (await context.snapshot()).at()
  const { from = Number.NEGATIVE_INFINITY, to = END } = args.window ?? {}
  const rows = [...fitsOf(view, context.plant, to).values()]
    .filter(
      ({ toldApart, at, furnace }) =>
        toldApart &&
        at >= from &&
        (args.furnace == null || view.things.name(furnace) === `furnace:${args.furnace}`),
    )
    .sort((a, b) => b.at - a.at || b.heat - a.heat)
  return pageOfList(
    rows,
    args,
    ({ at, heat }) => [at, heat],
    async (fitted) => ({
      node: await context.things.one(fitted.heat, asOf),
      misfit: misfit(context, { asOf }, fitted),
    }),
    { list: 'misfits' },
  )
}

function sizeOf({ read, predicted, spread }: Fitted['innovations'][number]): number {
  return Math.abs(read - predicted) / spread
}

function estimated(value: number, spread: number): Estimate {
  return {
    value,
    basis: 'COMPUTED',
    interval: {
      low: value - NORMAL_95 * spread,
      high: value + NORMAL_95 * spread,
      level: 0.95,
      method: 'weighing, analyses of lots, spread of readings about earlier predictions',
    },
  }
}

function round(percent: number): number {
  return Number(percent.toPrecision(2))
}
