// What may have gone wrong where a sample does not fit its charge, likeliest first: another lot than the
// one written down, a weight that slipped, an addition or line left out, a heel other than measured.
import type { Fitted, Made } from './filter.ts'
import { STAYING, type Staying } from './steps.ts'

export interface MisfitCause {
  sort:
    | 'lot-swapped'
    | 'lot-otherwise'
    | 'weight-slipped'
    | 'line-missed'
    | 'heel-otherwise'
    | 'none-of-these'
  /** The line it is about. */
  of?: number
  /** What went in instead, or was left out. */
  other?: number
  /** As a multiple of what was written down. */
  times?: number
  /** Of all that is weighed here, summing to 1. */
  chance: number
}

interface Weighed extends MisfitCause {
  /** Log of prior times likelihood. */
  weight: number
}

// Common practice, no source: how often each is the reason, before looking.
const PRIOR = {
  'lot-swapped': 0.35,
  'lot-otherwise': 0.1,
  'weight-slipped': 0.25,
  'line-missed': 0.15,
  'heel-otherwise': 0.1,
  'none-of-these': 0.05,
} as const

/** Factors that slips of pen and scale come to: a digit, a half, a double, a line told twice. */
const SLIPS = [0.1, 0.5, 0.8, 1.25, 2, 10]
const HEELS = [0.3, 0.6, 1.5, 2.5]
/** A lot may hold several times what the bath does, one that is not what it was said to be. */
const OTHERWISE = 4
/** Unit: percent by mass. */
const LEAST_OTHERWISE = 0.02
/** How far a reading may lie from what a cause predicts when none of these is it. */
const NONE_SCALE = 6

/** What would explain a heat, by chance. */
export function rankCauses(fitted: Fitted): MisfitCause[] {
  const { made, furnace, atHand: others } = fitted
  const mean = meanOf(made)
  const weighed: Weighed[] = []
  const lines = made.filter(({ of }) => of !== furnace)
  const add = (cause: Omit<MisfitCause, 'chance'>, shift: Shift, rivals: number) =>
    weighed.push({
      ...cause,
      chance: 0,
      weight: Math.log(PRIOR[cause.sort] / Math.max(1, rivals)) + fitOf(fitted, shift),
    })
  for (const line of lines) {
    for (const other of others) {
      const shift = shiftOf((e) => line.part * ((other.percent[e] ?? 0) - (line.percent[e] ?? 0)))
      add(
        { sort: 'lot-swapped', of: line.of, other: other.of },
        shift,
        lines.length * others.length,
      )
    }
    weighed.push({
      sort: 'lot-otherwise',
      of: line.of,
      chance: 0,
      weight:
        Math.log(PRIOR['lot-otherwise'] / lines.length) + otherwiseFit(fitted, line.part, mean),
    })
    for (const times of SLIPS) {
      // What was written down is `times` what went in: less of it, the rest as it was.
      const really = 1 / times
      const total = 1 + line.part * (really - 1)
      const shift = shiftOf(
        (e) => (line.part * (really - 1) * ((line.percent[e] ?? 0) - mean(e))) / total,
      )
      add({ sort: 'weight-slipped', of: line.of, times }, shift, lines.length * SLIPS.length)
    }
  }
  for (const other of others) {
    const shift = shiftOf(
      (e) => (other.part * ((other.percent[e] ?? 0) - mean(e))) / (1 + other.part),
    )
    add({ sort: 'line-missed', other: other.of }, shift, others.length)
  }
  const heel = made.find(({ of }) => of === furnace)
  for (const times of heel ? HEELS : []) {
    const total = 1 + heel!.part * (times - 1)
    const shift = shiftOf(
      (e) => (heel!.part * (times - 1) * ((heel!.percent[e] ?? 0) - mean(e))) / total,
    )
    add({ sort: 'heel-otherwise', of: furnace, times }, shift, HEELS.length)
  }
  weighed.push({
    sort: 'none-of-these',
    chance: 0,
    weight: Math.log(PRIOR['none-of-these']) + spreadFit(fitted),
  })
  return asChances(weighed)
}

export type Shift = Readonly<Record<Staying, number>>

/** Combined over the elements that were read. Unit: standard deviations. */
export function sizeOf({ innovations }: Fitted, shift: Shift): number {
  return Math.hypot(...innovations.map(({ symbol, spread }) => shift[symbol] / spread))
}

function shiftOf(by: (symbol: Staying) => number): Shift {
  return Object.fromEntries(STAYING.map((symbol) => [symbol, by(symbol)])) as Shift
}

function fitOf({ innovations }: Fitted, shift: Shift): number {
  let log = 0
  for (const { symbol, predicted, read, spread } of innovations)
    log -= ((read - predicted - shift[symbol]) / spread) ** 2 / 2
  return log
}

/** A lot that holds anything. */
function otherwiseFit(
  { innovations }: Fitted,
  part: number,
  mean: (symbol: Staying) => number,
): number {
  let log = 0
  for (const { symbol, predicted, read, spread } of innovations) {
    const much = OTHERWISE * Math.max(mean(symbol), LEAST_OTHERWISE)
    const wider = 1 + ((part * much) / spread) ** 2
    log -= ((read - predicted) / spread) ** 2 / (2 * wider) + Math.log(wider) / 2
  }
  return log
}

function spreadFit({ innovations }: Fitted): number {
  let log = 0
  for (const { predicted, read, spread } of innovations)
    log -= ((read - predicted) / (spread * NONE_SCALE)) ** 2 / 2 + Math.log(NONE_SCALE)
  return log
}

function meanOf(made: readonly Made[]): (symbol: Staying) => number {
  return (symbol) => made.reduce((sum, { part, percent }) => sum + part * (percent[symbol] ?? 0), 0)
}

/** One row a line: what could have gone in instead is told by the likeliest. */
function asChances(weighed: readonly Weighed[]): MisfitCause[] {
  const most = Math.max(...weighed.map(({ weight }) => weight))
  const total = weighed.reduce((sum, { weight }) => sum + Math.exp(weight - most), 0)
  const rows = new Map<string, MisfitCause>()
  for (const { weight, ...cause } of weighed.toSorted((a, b) => b.weight - a.weight)) {
    const chance = Math.exp(weight - most) / total
    const key = `${cause.sort} ${cause.of ?? ''}`
    const same = rows.get(key)
    if (same) same.chance += chance
    else rows.set(key, { ...cause, chance })
  }
  return [...rows.values()].sort((a, b) => b.chance - a.chance)
}
