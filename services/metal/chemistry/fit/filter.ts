// Does the sample of a heat fit what was charged? A filter over the heats of a plant: it predicts each
// sample from the weights, analyses and heel, and learns of lots and baths from what was read. A reading
// far from its prediction speaks of its own heat alone: the bath is set to it, no lot is blamed for it,
// so that one wrong bucket is one alarm.
import { type Belief, Gauss, type Mix } from './gauss.ts'
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

// Common practice, no source: a certificate speaks for its lot within a twentieth; lots of a material
// that nobody analyzed differ by a fifth of what the plant's iron holds; and by it all, at first.
const CERTIFICATE = { part: 0.05, least: 0.002 }
const LOT = { part: 0.2, least: 0.004 }
const MATERIAL = { part: 1, least: 0.03 }
const RETURNS = { part: 0.04, least: 0.001 }
const DOUBT = 0.08
const RELEARN = 0.5
/** A difference of so many deviations speaks by itself; alarms so close together may be of one lot. */
const LOUD = 3
const AGAIN = 8
/** A line is taken to be no smaller part than this. */
const SMALL = 0.04
/** Heats until a lot in doubt is known again. */
const SETTLED = 8
/** What a furnace does beside mixing: a little goes off with slag. Common practice, no source. */
const MELTING = 0.004
/** Of a bath by the book. Common practice, no source. */
const BOOK = 0.08
/** Readings that say how far readings scatter about predictions. */
const REMEMBERED = 200
const ENOUGH = 12
/** Readings scatter less than was worked out where scales and lots are better than taken here. */
const LEAST_SCATTER = 0.7
/** A lot that no heat used for so many heats is forgotten. */
const FORGOTTEN = 60
/** What no heat used for so long is likely used up. */
const AT_HAND = 16
/** Heats whose metal returns are made of. */
const RECENT = 24

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
  readonly #sourceOf: (no: number) => Source
  readonly #tail: Tail
  readonly #beliefs = new Map<Staying, Gauss>(STAYING.map((symbol) => [symbol, new Gauss()]))
  /** What the iron of the plant holds by and large. */
  readonly #usual: Map<Staying, number>
  readonly #scatter = new Map<Staying, number[]>(STAYING.map((symbol) => [symbol, []]))
  readonly #bathGrams = new Map<number, number>()
  readonly #binGrams = new Map<number, number>()
  /** By source, the heat that used it last, and what part of that it was. */
  readonly #lastUsed = new Map<number, { heat: number; part: number }>()
  readonly #materials = new Map<string, number>()
  readonly #recent = new Map<Staying, number[]>(STAYING.map((symbol) => [symbol, []]))
  /** By bin and element, how its layers differ. */
  readonly #layers = new Map<string, number>()
  readonly #doubted = new Map<number, number>()
  /** By lot, element and direction, the last heat told apart. */
  readonly #alarms = new Map<string, { heat: number; count: number }>()
  #heats = 0
  #total = 0

  constructor(steps: readonly Step[], sourceOf: (no: number) => Source, tail: Tail) {
    this.#steps = steps
    this.#sourceOf = sourceOf
    this.#tail = tail
    this.#usual = usualOf(steps)
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
    const added = sum(parts.map(({ grams }) => grams))
    const total = before + added
    if (total <= 0) return
    for (const [symbol, gauss] of this.#beliefs) {
      for (const { of } of parts) this.#know(symbol, gauss, of)
      const mix: [number, number][] = parts.map(({ of, grams }) => [of, grams / total])
      if (before > 0 && gauss.has(bin)) mix.push([bin, before / total])
      this.#layer(`${bin} ${symbol}`, gauss, bin, mix)
      gauss.mix(bin, mix, 0)
    }
    this.#binGrams.set(bin, total)
  }

  /** A draw from a bin may be of any of its layers: their variance about what it holds by and large. */
  #layer(key: string, gauss: Gauss, bin: number, mix: Mix): void {
    const { mean } = gauss.peek(mix)
    let variance = 0
    for (const [of, part] of mix) {
      const within = of === bin ? (this.#layers.get(key) ?? 0) : 0
      variance += part * (within + (gauss.belief(of).mean - mean) ** 2)
    }
    this.#layers.set(key, variance)
  }

  #melt(step: HeatStep): Fitted | undefined {
    this.#heats++
    const heel = this.#heelOf(step)
    const total = heel.grams + sum(step.parts.map(({ grams }) => grams))
    if (total <= 0) return undefined
    this.#total = total
    const parts: Part[] = [...step.parts]
    if (heel.grams > 0) parts.push({ of: step.furnace, ...heel })
    const made = new Map<number, Made>()
    const innovations: Innovation[] = []
    for (const [symbol, gauss] of this.#beliefs) {
      for (const { of } of parts) this.#know(symbol, gauss, of)
      const mix: Mix = parts.map(({ of, grams }) => [of, grams / total])
      for (const [of, part] of mix) {
        const source = made.get(of) ?? { of, part, percent: {} }
        source.percent[symbol] = gauss.belief(of).mean
        made.set(of, source)
      }
      gauss.mix(step.furnace, mix, this.#weighing(symbol, gauss, parts, total))
      const read = step.read?.[symbol]
      if (!read) continue
      const { mean, variance } = gauss.belief(step.furnace)
      const spread = Math.sqrt(variance + read.spread ** 2) * this.#scatterOf(symbol)
      innovations.push({ symbol, predicted: mean, read: read.percent, spread })
    }
    const one = this.#judge(step, innovations, [...made.values()])
    this.#learn(step, innovations, one?.toldApart ?? false)
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
      .filter(
        ([of, { heat }]) => this.#heats - heat < AT_HAND && !made.some((one) => one.of === of),
      )
      .map(([of, { part }]) => ({ of, part, percent: this.#percents(of) }))
  }

  #percents(of: number): Percents {
    const percent: Percents = {}
    for (const [symbol, gauss] of this.#beliefs) percent[symbol] = gauss.belief(of).mean
    return percent
  }

  /** A bath told apart is what its sample says, and no lot is taken to be otherwise for it. */
  #learn(step: HeatStep, innovations: readonly Innovation[], toldApart: boolean): void {
    for (const { symbol, read, predicted, spread } of innovations) {
      const gauss = this.#beliefs.get(symbol)!
      const error = step.read![symbol]!.spread ** 2
      if (toldApart) {
        gauss.add(step.furnace, { mean: read, variance: error })
        this.#doubt(
          gauss,
          step,
          symbol,
          read - predicted,
          Math.abs(read - predicted) > LOUD * spread,
        )
      } else {
        gauss.read(step.furnace, read, error)
        if (this.#inDoubt(step)) continue
        const scatter = this.#scatter.get(symbol)!
        scatter.push(Math.abs(read - predicted) / (spread / this.#scatterOf(symbol)))
        if (scatter.length > REMEMBERED) scatter.shift()
      }
    }
    for (const [symbol, gauss] of this.#beliefs) {
      const recent = this.#recent.get(symbol)!
      recent.push(gauss.belief(step.furnace).mean)
      if (recent.length > RECENT) recent.shift()
    }
  }

  /**
   * A lot may be other than it was believed to be: a little less sure of each from the first alarm on. One
   * that stands behind a second of the same kind is doubted by as much as that takes, and so learned.
   */
  #doubt(gauss: Gauss, step: HeatStep, symbol: Staying, off: number, loud: boolean): void {
    for (const { of, grams } of step.parts) {
      gauss.doubt(of, (DOUBT * this.#usual.get(symbol)!) ** 2)
      if (!loud) continue
      const key = `${of} ${symbol} ${off > 0}`
      const before = this.#alarms.get(key)
      this.#alarms.set(key, { heat: step.heat, count: this.#heats })
      if (before === undefined || this.#heats - before.count > AGAIN) continue
      const alone = (off * this.#total) / Math.max(grams, SMALL * this.#total)
      gauss.doubt(of, (RELEARN * alone) ** 2)
      this.#doubted.set(of, this.#heats)
    }
  }

  /** Predictions from lots in doubt are wide: readings lie close to them, and say nothing of scatter. */
  #inDoubt({ parts }: HeatStep): boolean {
    return parts.some(({ of }) => this.#heats - (this.#doubted.get(of) ?? -SETTLED) < SETTLED)
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
      this.#lastUsed.set(of, { heat: this.#heats, part: grams / total })
      const bin = this.#binGrams.get(of)
      if (bin !== undefined) this.#binGrams.set(of, Math.max(0, bin - grams))
    }
    for (const [of, { heat }] of this.#lastUsed) {
      if (this.#heats - heat <= FORGOTTEN || this.#binGrams.has(of)) continue
      for (const gauss of this.#beliefs.values()) gauss.drop(of)
      this.#lastUsed.delete(of)
    }
  }

  /** Variance that weighing brings into a mix: a gram too much of what differs from it. */
  #weighing(symbol: Staying, gauss: Gauss, parts: readonly Part[], total: number): number {
    const mean = sum(parts.map(({ of, grams }) => (grams / total) * gauss.belief(of).mean))
    let variance = (MELTING * mean) ** 2
    for (const { of, grams, spread } of parts) {
      variance += ((spread / total) * (gauss.belief(of).mean - mean)) ** 2
      variance += (grams / total) ** 2 * (this.#layers.get(`${of} ${symbol}`) ?? 0)
    }
    return variance
  }

  #know(symbol: Staying, gauss: Gauss, of: number): void {
    if (gauss.has(of)) return
    const source = this.#sourceOf(of)
    const usual = this.#usual.get(symbol)!
    const analyzed = source.analyzed?.[symbol]
    if (analyzed !== undefined) gauss.add(of, believed(analyzed, analyzed, CERTIFICATE))
    // An analysis that does not name an element found none worth naming.
    else if (source.analyzed) gauss.add(of, believed(0, usual, CERTIFICATE))
    else if (source.role === 'returns') gauss.add(of, this.#returned(symbol, usual))
    else {
      const material = this.#materialKey(source.material)
      if (!gauss.has(material)) gauss.add(material, believed(usual, usual, MATERIAL))
      gauss.add(of, believed(0, usual, LOT), material)
    }
  }

  /** Returns are of the heats before; of which of them, nobody says. */
  #returned(symbol: Staying, usual: number): Belief {
    const recent = this.#recent.get(symbol)!
    if (recent.length === 0) return believed(usual, usual, MATERIAL)
    const mean = medianOf(recent)
    const scatter = medianOf(recent.map((value) => Math.abs(value - mean))) / QUARTILE
    const { variance } = believed(mean, usual, RETURNS)
    return { mean, variance: variance + scatter ** 2 }
  }

  /** Materials are numbered below what things are. */
  #materialKey(material: string): number {
    let key = this.#materials.get(material)
    if (key === undefined) {
      key = -1 - this.#materials.size
      this.#materials.set(material, key)
    }
    return key
  }

  /** How much wider readings scatter than was worked out: from their median. */
  #scatterOf(symbol: Staying): number {
    const seen = this.#scatter.get(symbol)!
    if (seen.length < ENOUGH) return 1.5
    return Math.max(LEAST_SCATTER, medianOf(seen) / QUARTILE)
  }
}

/** Half of a normal distribution lies within so many deviations of its middle. */
const QUARTILE = 0.6745

function believed(
  mean: number,
  of: number,
  { part, least }: { part: number; least: number },
): Belief {
  return { mean, variance: Math.max(least, part * of) ** 2 }
}

function usualOf(steps: readonly Step[]): Map<Staying, number> {
  return new Map(
    STAYING.map((symbol) => {
      const read = steps
        .flatMap((step) => (step.sort === 'heat' && step.read?.[symbol]?.percent) || [])
        .sort((a, b) => a - b)
      return [symbol, read[read.length >> 1] ?? 0.05]
    }),
  )
}

function medianOf(values: readonly number[]): number {
  return values.toSorted((a, b) => a - b)[values.length >> 1]!
}

function sum(values: readonly number[]): number {
  let total = 0
  for (const value of values) total += value
  return total
}
