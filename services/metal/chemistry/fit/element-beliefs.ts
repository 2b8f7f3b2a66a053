// What is believed of one element in lots, bins and baths, and how it changes when bins are filled, heats
// melted and samples read.
import { type Belief, Gauss, type Mix } from './gauss.ts'
import type { Part, Source, Staying } from './steps.ts'

// Common practice, no source: a certificate speaks for its lot within a twentieth; lots of a material
// that nobody analyzed differ by a fifth of what the plant's iron holds; and by it all, at first.
const CERTIFICATE = { part: 0.05, least: 0.002 }
const LOT = { part: 0.2, least: 0.004 }
const MATERIAL = { part: 1, least: 0.03 }
const RETURNS = { part: 0.04, least: 0.001 }
/** What a furnace does beside mixing: a little goes off with slag. Common practice, no source. */
const MELTING = 0.004
/** After an alarm each lot is less sure by this part of the usual; one behind two, by as much as that takes. */
const DOUBT = 0.08
const RELEARN = 0.5
/** A difference of so many deviations speaks by itself; alarms so many heats apart may be of one lot. */
const LOUD = 3
const AGAIN = 8
/** A line is taken to be no smaller part than this. */
const SMALL = 0.04
/** Readings that say how far readings scatter about predictions. */
const REMEMBERED = 200
const ENOUGH = 12
const SCATTER_AT_FIRST = 1.5
/** Readings scatter less than was worked out where scales and lots are better than taken here. */
const LEAST_SCATTER = 0.7
/** Heats whose metal returns are made of. */
const RECENT = 24
/** Half of a normal distribution lies within so many deviations of its middle. */
const QUARTILE = 0.6745

export class ElementBeliefs {
  readonly symbol: Staying
  /** What the iron of the plant holds by and large. Unit: percent by mass, as all here. */
  readonly #usual: number
  readonly #sourceOf: (no: number) => Source
  readonly #gauss = new Gauss()
  readonly #materials = new Map<string, number>()
  /** By bin, the variance of its layers. */
  readonly #layers = new Map<number, number>()
  /** By lot and direction, the last heat told apart, as they are counted. */
  readonly #alarms = new Map<string, number>()
  readonly #recent: number[] = []
  readonly #off: number[] = []

  constructor(symbol: Staying, usual: number, sourceOf: (no: number) => Source) {
    this.symbol = symbol
    this.#usual = usual
    this.#sourceOf = sourceOf
  }

  mean(of: number): number {
    return this.#gauss.belief(of).mean
  }

  /** The same, of what may never have been met. */
  known(of: number): number {
    this.#know(of)
    return this.mean(of)
  }

  forget(of: number): void {
    this.#gauss.drop(of)
  }

  /** Parts go into a bin beside what it `kept` of before. */
  fill(bin: number, parts: Mix, kept: number): void {
    for (const [of] of parts) this.#know(of)
    const mix = kept > 0 && this.#gauss.has(bin) ? [...parts, [bin, kept] as const] : parts
    const { mean } = this.#gauss.peek(mix)
    let variance = 0
    for (const [of, part] of mix) {
      const within = of === bin ? (this.#layers.get(bin) ?? 0) : 0
      variance += part * (within + (this.mean(of) - mean) ** 2)
    }
    this.#layers.set(bin, variance)
    this.#gauss.mix(bin, mix, 0)
  }

  /** Parts become the bath of a furnace, which may be one of them; gives what it holds. */
  melt(furnace: number, parts: readonly Part[], total: number): Belief {
    for (const { of } of parts) this.#know(of)
    const mix: Mix = parts.map(({ of, grams }) => [of, grams / total])
    const { mean } = this.#gauss.peek(mix)
    let variance = (MELTING * mean) ** 2
    for (const { of, grams, spread } of parts) {
      // A gram too much of what differs from the bath; a draw from a bin may be of any of its layers.
      variance += ((spread / total) * (this.mean(of) - mean)) ** 2
      variance += (grams / total) ** 2 * (this.#layers.get(of) ?? 0)
    }
    this.#gauss.mix(furnace, mix, variance)
    return this.#gauss.belief(furnace)
  }

  /** How much wider readings scatter about predictions than was worked out. */
  scatter(): number {
    if (this.#off.length < ENOUGH) return SCATTER_AT_FIRST
    return Math.max(LEAST_SCATTER, medianOf(this.#off) / QUARTILE)
  }

  /** The sample fits: of lots and bath is learned; `plainly`, of scatter too. */
  learn(furnace: number, read: number, error: number, plainly: boolean): void {
    const { mean, variance } = this.#gauss.belief(furnace)
    this.#gauss.read(furnace, read, error ** 2)
    if (!plainly) return
    this.#off.push(Math.abs(read - mean) / Math.sqrt(variance + error ** 2))
    if (this.#off.length > REMEMBERED) this.#off.shift()
  }

  /**
   * The sample does not fit: the bath is what was read. Gives the lots that stand behind a second such
   * reading of one kind: they are doubted by as much as it takes, and so learned.
   */
  reset(
    furnace: number,
    read: { value: number; error: number; off: number; spread: number },
    parts: readonly Part[],
    { heat, total }: { heat: number; total: number },
  ): number[] {
    this.#gauss.add(furnace, { mean: read.value, variance: read.error ** 2 })
    const again: number[] = []
    for (const { of, grams } of parts) {
      this.#gauss.doubt(of, (DOUBT * this.#usual) ** 2)
      if (Math.abs(read.off) <= LOUD * read.spread) continue
      const key = `${of} ${read.off > 0}`
      const before = this.#alarms.get(key)
      this.#alarms.set(key, heat)
      if (before === undefined || heat - before > AGAIN) continue
      const alone = (read.off * total) / Math.max(grams, SMALL * total)
      this.#gauss.doubt(of, (RELEARN * alone) ** 2)
      again.push(of)
    }
    return again
  }

  /** What a heat came to is what returns will be made of. */
  remember(furnace: number): void {
    this.#recent.push(this.mean(furnace))
    if (this.#recent.length > RECENT) this.#recent.shift()
  }

  #know(of: number): void {
    if (this.#gauss.has(of)) return
    const { analyzed, role, material } = this.#sourceOf(of)
    const percent = analyzed?.[this.symbol]
    if (percent !== undefined) this.#gauss.add(of, believed(percent, percent, CERTIFICATE))
    // An analysis that does not name an element found none worth naming.
    else if (analyzed) this.#gauss.add(of, believed(0, this.#usual, CERTIFICATE))
    else if (role === 'returns') this.#gauss.add(of, this.#returned())
    else this.#gauss.add(of, believed(0, this.#usual, LOT), this.#materialOf(material))
  }

  /** Returns are of the heats before; of which of them, nobody says. */
  #returned(): Belief {
    if (this.#recent.length === 0) return believed(this.#usual, this.#usual, MATERIAL)
    const mean = medianOf(this.#recent)
    const scatter = medianOf(this.#recent.map((value) => Math.abs(value - mean))) / QUARTILE
    return { mean, variance: believed(mean, this.#usual, RETURNS).variance + scatter ** 2 }
  }

  /** Materials are numbered below what things are. */
  #materialOf(material: string): number {
    let key = this.#materials.get(material)
    if (key === undefined) {
      key = -1 - this.#materials.size
      this.#materials.set(material, key)
      this.#gauss.add(key, believed(this.#usual, this.#usual, MATERIAL))
    }
    return key
  }
}

function believed(
  mean: number,
  of: number,
  { part, least }: { part: number; least: number },
): Belief {
  return { mean, variance: Math.max(least, part * of) ** 2 }
}

function medianOf(values: readonly number[]): number {
  return values.toSorted((a, b) => a - b)[values.length >> 1]!
}
