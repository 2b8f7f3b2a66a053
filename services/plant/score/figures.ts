// What sheets of several foundries come to, each figure with its 95 % interval. Castings of one foundry
// share its scales and its mishaps, so intervals come from how foundries differ.
import { studentQuantile } from '../../stats/distributions.ts'
import { wilson } from '../../stats/interval.ts'
import {
  type Castings,
  type Chances,
  CLASSES,
  type LotShares,
  SHARES,
  type Sheet,
} from './sheet.ts'

/** Null where there is nothing to divide by, or one foundry to compare. */
export interface Figure {
  value: number | null
  low: number | null
  high: number | null
}

export function figuresOf(sheets: readonly Sheet[]) {
  return {
    foundries: sheets.length,
    reports: sum(sheets, ({ reports }) => reports),
    refused: sum(sheets, ({ refused }) => refused),
    heats: sum(sheets, ({ heats }) => heats),
    lots: sum(sheets, ({ lots }) => lots.length),
    castings: sum(sheets, ({ castings }) => castings),
    byShare: Object.fromEntries(SHARES.map((share) => [share, ofShare(sheets, share)])),
    chances: chancesOf(sheets),
    shares: sharesOf(sheets),
    fit: fitOf(sheets),
  }
}

/** Parts are of the castings truly over the share. */
function ofShare(sheets: readonly Sheet[], share: number) {
  const part = (top: (one: Castings) => number, bottom = (one: Castings) => one.truly) =>
    jackknife(sheets, (some) => {
      const own = some.map(({ byShare }) => byShare[share]!)
      return sum(own, top) / sum(own, bottom)
    })
  const own = sheets.map(({ byShare }) => byShare[share]!)
  const rival = (of: (one: Castings) => Castings['plain']) => ({
    excess: part((one) => of(one).excess),
    missed: part((one) => of(one).missed),
    timesOurExcess: part(
      (one) => of(one).excess,
      ({ excess }) => excess,
    ),
    timesLeastExcess: part(
      (one) => of(one).excess,
      ({ leastExcess }) => leastExcess,
    ),
  })
  return {
    truly: sum(own, ({ truly }) => truly),
    clear: sum(own, ({ clear }) => clear),
    falseClear: part(({ clear }) => clear),
    foundriesWithFalseClear: counted(own.filter(({ clear }) => clear > 0).length, own.length),
    found: part(({ found }) => found),
    unseen: part(({ unseen }) => unseen),
    held: part(({ held }) => held),
    falselyCertain: part(({ falselyCertain }) => falselyCertain),
    expected: part(({ expected }) => expected),
    excess: part(({ excess }) => excess),
    /** What no answer can be below, and how often it goes into ours. */
    leastExcess: part(({ leastExcess }) => leastExcess),
    timesLeastExcess: part(
      ({ excess }) => excess,
      ({ leastExcess }) => leastExcess,
    ),
    plainReach: rival(({ plain }) => plain),
    oneHeatBeforeAndAfter: rival(({ neighbours }) => neighbours),
  }
}

/** How far chances are from what came of them. */
function chancesOf(sheets: readonly Sheet[]) {
  const error = (from: number, until: number) =>
    jackknife(sheets, (some) => calibrationError(classesOf(some).slice(from, until)))
  return {
    brier: jackknife(sheets, (some) => {
      const classes = classesOf(some)
      return sum(classes, ({ square }) => square) / sum(classes, ({ castings }) => castings)
    }),
    error: error(0, CLASSES),
    errorWhereOpen: error(2, CLASSES - 1),
    table: classesOf(sheets).map(({ castings, chance, affected }, i) => ({
      said: SAID[i] ?? `${i - 2} to ${i - 1} tenths`,
      castings,
      chance: rounded(chance / castings),
      affected: rounded(affected / castings),
    })),
  }
}

const SAID: Partial<Record<number, string>> = {
  0: 'clear',
  1: 'not known, no chance told',
  [CLASSES - 1]: 'all',
}

function classesOf(sheets: readonly Sheet[]): Chances[] {
  return Array.from({ length: CLASSES }, (_, i) => {
    const total = (of: (one: Chances) => number) => sum(sheets, ({ chances }) => of(chances[i]!))
    return {
      castings: total(({ castings }) => castings),
      chance: total(({ chance }) => chance),
      affected: total(({ affected }) => affected),
      square: total(({ square }) => square),
    }
  })
}

/** Mean distance between what was said and what came of it, class by class, weighted by castings. */
function calibrationError(classes: readonly Chances[]): number {
  const off = sum(classes, ({ chance, affected }) => Math.abs(chance - affected))
  return off / sum(classes, ({ castings }) => castings)
}

/** Each lot of each foundry counts once, whatever it went into: one scale spoils all its pours alike. */
function sharesOf(sheets: readonly Sheet[]) {
  const mean = (of: (lot: LotShares) => number, from = (lot: LotShares) => lot.pours) =>
    jackknife(sheets, (some) => {
      const lots = some.flatMap(({ lots }) => lots).filter((lot) => from(lot) > 0)
      return sum(lots, (lot) => of(lot) / from(lot)) / lots.length
    })
  return {
    inside: mean(({ inside }) => inside),
    below: mean(({ below }) => below),
    above: mean(({ above }) => above),
    /** Mean of |ln(answered / true)| of shares over a thousandth. */
    logError: mean(
      ({ logError }) => logError,
      ({ logged }) => logged,
    ),
  }
}

/** From so many deviations on a lot written down for another can be told from a sample. */
const MEASURABLE = 4

function fitOf(sheets: readonly Sheet[]) {
  const fits = sheets.map(({ fit }) => fit)
  const swaps = fits.flatMap((fit) => fit.swaps)
  const told = (some: typeof swaps) => counted(some.filter((one) => one.told).length, some.length)
  return {
    falseAlarms: counted(
      sum(fits, ({ falselyTold }) => falselyTold),
      sum(fits, ({ right }) => right),
    ),
    heatsOfTheSpoiltLot: counted(
      sum(fits, ({ spoiltTold }) => spoiltTold),
      sum(fits, ({ spoilt }) => spoilt),
    ),
    measurableSwaps: told(swaps.filter(({ deviations }) => deviations >= MEASURABLE)),
    /** By deviations that a swap moves the sample: 0 to 1, 1 to 2 and so on, the last all beyond. */
    power: Array.from({ length: 11 }, (_, size) =>
      told(swaps.filter(({ deviations }) => Math.min(10, Math.floor(deviations)) === size)),
    ),
  }
}

/** A figure of all foundries, with how far it moves when one is left out. */
export function jackknife(
  sheets: readonly Sheet[],
  figure: (sheets: readonly Sheet[]) => number,
): Figure {
  const value = figure(sheets)
  const n = sheets.length
  if (!Number.isFinite(value)) return { value: null, low: null, high: null }
  if (n < 2) return { value: rounded(value), low: null, high: null }
  const without = sheets.map((_, i) => figure(sheets.filter((_, other) => other !== i)))
  const mean = sum(without, (one) => one) / n
  const error = Math.sqrt(((n - 1) / n) * sum(without, (one) => (one - mean) ** 2))
  const half = studentQuantile(0.975, n - 1) * error
  return {
    value: rounded(value),
    low: rounded(Math.max(0, value - half)),
    high: rounded(value + half),
  }
}

/** A part of things that do not depend on each other. */
export function counted(count: number, of: number): Figure & { count: number; of: number } {
  if (of === 0) return { count, of, value: null, low: null, high: null }
  const { value, low, high } = wilson(count, of)
  return { count, of, value: rounded(value), low: rounded(low), high: rounded(high) }
}

function sum<T>(list: readonly T[], of: (one: T) => number): number {
  return list.reduce((total, one) => total + of(one), 0)
}

function rounded(value: number): number | null {
  return Number.isFinite(value) ? Number(value.toPrecision(4)) : null
}
