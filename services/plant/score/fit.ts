// Whether samples that do not fit their charges are told apart: lots written down for others, and heats
// that nothing is wrong with.
import { type Fitted, fitHeats } from '../../metal/chemistry/fit/filter.ts'
import { sourceOf, stepsOf } from '../../metal/chemistry/fit/heats.ts'
import type { View } from '../../metal/followed.ts'
import { chiSquareAbove } from '../../stats/distributions.ts'
import type { Fault, Swap } from '../fault.ts'
import type { Truth } from '../truth.ts'
import type { Heard } from './hear.ts'

export interface FitSheet {
  /** Heats with a sample that are as reports say, and those told apart of them. */
  right: number
  falselyTold: number
  /** Heats that hold some of a lot which is not what it was bought for, and those told apart of them. */
  spoilt: number
  spoiltTold: number
  /** Each lot written down for another: by how many deviations it moves the sample, and whether it was told. */
  swaps: { deviations: number; told: boolean }[]
}

const MOST_HEATS = 3000

export function fitSheetOf(truth: Truth, { record, plant }: Heard): FitSheet {
  const { view } = record.at()
  const steps = stepsOf(view, plant, MOST_HEATS, Number.POSITIVE_INFINITY)
  const fitted = fitHeats(steps, (no) => sourceOf(view, no), chiSquareAbove)
  const byHeat = new Map(fitted.map((one) => [one.heat, one]))
  const wrong = new Set<number>()
  const swaps: FitSheet['swaps'] = []
  for (const { fault, subject, swap } of truth.faults) {
    if (!SPOILS[fault]) continue
    for (const heat of heatsOf(view, plant, subject)) {
      const own = byHeat.get(heat)
      if (!own) continue
      wrong.add(heat)
      if (swap)
        swaps.push({ deviations: deviationsOf(truth, view, own, swap), told: own.toldApart })
    }
  }
  const spoiltNames = spoiltHeats(truth)
  const [spoilt, others] = [true, false].map((is) =>
    fitted.filter(({ heat }) => spoiltNames.has(view.things.name(heat)) === is),
  ) as [Fitted[], Fitted[]]
  const right = others.filter(({ heat }) => !wrong.has(heat))
  const told = (heats: readonly Fitted[]) => heats.filter(({ toldApart }) => toldApart).length
  return {
    right: right.length,
    falselyTold: told(right),
    spoilt: spoilt.length,
    spoiltTold: told(spoilt),
    swaps,
  }
}

// Of a lot that holds 1.6 % Cr so much is a hundredth of what the iron holds.
const SOME = 1e-3

function spoiltHeats({ cause, metal, pours }: Truth): Set<string> {
  const shares = cause ? metal.sharesOf(cause.lot) : new Map<string, number>()
  const spoilt = pours.filter(({ pour }) => (shares.get(`pour:${pour}`) ?? 0) >= SOME)
  return new Set(spoilt.map(({ heat }) => `heat:${heat}`))
}

/** Faults that make a heat other than its reports say. */
const SPOILS: Partial<Record<Fault['fault'], true>> = {
  swapped: true,
  slipped: true,
  forgotten: true,
  mistaken: true,
  missing: true,
}

/** A heat itself, or those a charge went into. */
function heatsOf(
  { book, things, asOf }: View,
  plant: string,
  subject: string | undefined,
): number[] {
  const no = subject === undefined ? undefined : things.numberOf(plant, subject)
  if (no === undefined) return []
  if (things.kind(no) === 'heat') return [no]
  return book.other(no, 'heat-charged', asOf).map(({ fact }) => fact.of)
}

/** By the element that tells it best: what the swap moves, in deviations of prediction and reading together. */
function deviationsOf(truth: Truth, { book, asOf }: View, fitted: Fitted, swap: Swap): number {
  const [really, said] = [truth.analyses.get(swap.of), truth.analyses.get(swap.said)]
  const tapped = book.other(fitted.heat, 'ladle-tapped', asOf)
  const kg = tapped.reduce((sum, { fact }) => sum + fact.amount / 1000, 0)
  if (!really || !said || kg === 0) return 0
  const sizes = fitted.innovations.map(({ symbol, spread }) => {
    const percent = (of: typeof really) => (of as Record<string, number | undefined>)[symbol] ?? 0
    return Math.abs((swap.kg * (percent(really) - percent(said))) / kg) / spread
  })
  return Math.max(0, ...sizes)
}
