// Does the sample of a heat fit what was charged? A filter over the heats of a plant: it predicts each
// sample from the weights, analyses and heel, and learns of lots and baths from what was read. A reading
// far from its prediction speaks of its own heat alone: the bath is set to it, no lot is blamed for it,
// so that one wrong bucket is one alarm.
import { ElementBeliefs } from './element-beliefs.ts'
import type { Mix } from './gauss.ts'
import {
  type Fill,
  type HeatStep,
  type Part,
  type Percents,
  type Source,
  STAYING,
  type Staying,
  type Step,
} from './steps.ts'

export interface Innovation {
  symbol: Staying
  predicted: number
  read: number
  /** Of the difference: prediction and reading together. Unit: percent by mass. */
  spread: number
}

/** One heat with a sample. */
export interface Fitted {
  heat: number
  furnace: number
  at: number
  innovations: Innovation[]
  /** Σ of squared innovations in their deviations. */
  statistic: number
  /** Chance of a larger one with no mistake. */
  chance: number
  toldApart: boolean
  /** What it was predicted from. */
  made: Made[]
  /** Of one told apart: what else was in use and could have gone in, as much as usually does. */
  atHand: Made[]
}

/** Part of a bath that is of one source, and what that is believed to hold. */
export interface Made {
  of: number
  /** By mass, 0 to 1. */
  part: number
  percent: Percents
}

/** Chance that chi-square with so many degrees of freedom lies above. */
export type Tail = (statistic: number, degrees: number) => number

/** Told apart from here on. What it finds and how often it errs is measured in test/bench/fit.bench.ts. */
export const ALARM = 2e-5

/** Of a bath by the book. Common practice, no source. */
const BOOK = 0.08
/** Heats until a lot in doubt is known again. */
const SETTLED = 8
/** A lot that no heat used for so many heats is forgotten. */
const FORGOTTEN = 60
/** What no heat used for so long is likely used up. */
const AT_HAND = 16

/** Fits the heats of a plant, in the order of the steps. */
export function fitHeats(
  steps: readonly Step[],
  sourceOf: (no: number) => Source,
  tail: Tail,
): Fitted[] {
  return new Filter(steps, sourceOf, tail).run()
}

class Filter {
  readonly #steps: readonly Step[]
  readonly #tail: Tail
  readonly #elements: readonly ElementBeliefs[]
  readonly #bathGrams = new Map<number, number>()
  readonly #binGrams = new Map<number, number>()
  /** By source, the heat that used it last, and what part of that it was. */
  readonly #lastUsed = new Map<number, { heat: number; part: number }>()
  /** By lot, the heat since which it is learned anew. */
  readonly #doubted = new Map<number, number>()
  /** Heats are counted: how long ago one was is told in heats. */
  #heat = 0

  constructor(steps: readonly Step[], sourceOf: (no: number) => Source, tail: Tail) {
    this.#steps = steps
    this.#tail = tail
    this.#elements = STAYING.map(
      (symbol) => new ElementBeliefs(symbol, usualOf(steps, symbol), sourceOf),
    )
  }

  run(): Fitted[] {
    const fitted: Fitted[] = []
    for (const step of this.#steps) {
      if (step.sort === 'fill') this.#fill(step)
      else {
        const one = this.#melt(step)
        if (one) fitted.push(one)
      }
    }
    return fitted
  }

  #fill({ bin, parts }: Fill): void {
    const before = this.#binGrams.get(bin) ?? 0
    const total = before + sum(parts.map(({ grams }) => grams))
    if (total <= 0) return
    const mix: Mix = parts.map(({ of, grams }) => [of, grams / total])
    for (const element of this.#elements) element.fill(bin, mix, before / total)
    this.#binGrams.set(bin, total)
  }

  #melt(step: HeatStep): Fitted | undefined {
    this.#heat++
    const heel = this.#heelOf(step)
    const parts = merged([
      ...step.parts,
      ...(heel.grams > 0 ? [{ of: step.furnace, ...heel }] : []),
    ])
    const total = sum(parts.map(({ grams }) => grams))
    if (total <= 0) return undefined
    const made: Made[] = parts.map(({ of, grams }) => ({ of, part: grams / total, percent: {} }))
    const innovations: Innovation[] = []
    for (const element of this.#elements) {
      const { symbol } = element
      const heelHeld = heel.grams > 0 ? element.known(step.furnace) : 0
      const { mean, variance } = element.melt(step.furnace, parts, total)
      for (const one of made)
        one.percent[symbol] = one.of === step.furnace ? heelHeld : element.mean(one.of)
      const read = step.read?.[symbol]
      if (!read) continue
      const spread = Math.sqrt(variance + read.spread ** 2) * element.scatter()
      innovations.push({ symbol, predicted: mean, read: read.percent, spread })
    }
    const one = this.#judge(step, innovations, made)
    this.#learn(step, innovations, { toldApart: one?.toldApart ?? false, total })
    this.#keepBooks(step, total)
    return one
  }

  #judge(
    { heat, furnace, at }: HeatStep,
    innovations: Innovation[],
    made: Made[],
  ): Fitted | undefined {
    if (innovations.length === 0) return undefined
    const statistic = sum(innovations.map((one) => ((one.read - one.predicted) / one.spread) ** 2))
    const chance = this.#tail(statistic, innovations.length)
    const toldApart = chance < ALARM
    return {
      heat,
      furnace,
      at,
      innovations,
      statistic,
      chance,
      toldApart,
      made,
      atHand: toldApart ? this.#atHand(made) : [],
    }
  }

  #atHand(made: readonly Made[]): Made[] {
    return [...this.#lastUsed]
      .filter(([of, { heat }]) => this.#heat - heat < AT_HAND && !made.some((one) => one.of === of))
      .map(([of, { part }]) => ({ of, part, percent: this.#percents(of) }))
  }

  #percents(of: number): Percents {
    const percent: Percents = {}
    for (const element of this.#elements) percent[element.symbol] = element.mean(of)
    return percent
  }

  #learn(
    step: HeatStep,
    innovations: readonly Innovation[],
    { toldApart, total }: { toldApart: boolean; total: number },
  ): void {
    const { furnace, parts } = step
    const plainly = !this.#inDoubt(step)
    for (const { symbol, read, predicted, spread } of innovations) {
      const element = this.#elements.find((one) => one.symbol === symbol)!
      const error = step.read![symbol]!.spread
      if (!toldApart) {
        element.learn(furnace, read, error, plainly)
        continue
      }
      const reading = { value: read, error, off: read - predicted, spread }
      for (const of of element.reset(furnace, reading, parts, { heat: this.#heat, total }))
        this.#doubted.set(of, this.#heat)
    }
    for (const element of this.#elements) element.remember(furnace)
  }

  /** Predictions from lots in doubt are wide: readings lie close to them, and say nothing of scatter. */
  #inDoubt({ parts }: HeatStep): boolean {
    return parts.some(({ of }) => this.#heat - (this.#doubted.get(of) ?? -SETTLED) < SETTLED)
  }

  #heelOf({ fromEmpty, heel, furnace, parts, tapped }: HeatStep): {
    grams: number
    spread: number
  } {
    if (fromEmpty) return { grams: 0, spread: 0 }
    if (heel) return heel
    const book = this.#bathGrams.get(furnace)
    if (book !== undefined) return { grams: Math.max(0, book), spread: BOOK * Math.max(0, book) }
    // First seen in the middle of its work: it may hold as much as it taps.
    const charged = sum(parts.map(({ grams }) => grams))
    const grams = Math.max(0, tapped - charged) || charged / 3
    return { grams, spread: grams }
  }

  #keepBooks(step: HeatStep, total: number): void {
    this.#bathGrams.set(step.furnace, Math.max(0, total - step.tapped))
    for (const { of, grams } of step.parts) {
      this.#lastUsed.set(of, { heat: this.#heat, part: grams / total })
      const bin = this.#binGrams.get(of)
      if (bin !== undefined) this.#binGrams.set(of, Math.max(0, bin - grams))
    }
    for (const [of, { heat }] of this.#lastUsed) {
      if (this.#heat - heat <= FORGOTTEN || this.#binGrams.has(of)) continue
      for (const element of this.#elements) element.forget(of)
      this.#lastUsed.delete(of)
    }
  }
}

/** Lines of one source as one; what their weighing errs by adds up. */
function merged(parts: readonly Part[]): Part[] {
  const byOf = new Map<number, Part>()
  for (const { of, grams, spread } of parts) {
    const same = byOf.get(of)
    byOf.set(of, { of, grams: grams + (same?.grams ?? 0), spread: spread + (same?.spread ?? 0) })
  }
  return [...byOf.values()]
}

/** The median of all readings; where there are none, a twentieth of a percent. */
function usualOf(steps: readonly Step[], symbol: Staying): number {
  const read = steps
    .flatMap((step) => (step.sort === 'heat' && step.read?.[symbol]?.percent) || [])
    .sort((a, b) => a - b)
  return read[read.length >> 1] ?? 0.05
}

function sum(values: readonly number[]): number {
  let total = 0
  for (const value of values) total += value
  return total
}
