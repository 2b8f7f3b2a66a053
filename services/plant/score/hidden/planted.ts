// A cause hidden in the light foundry, and the defects that come of it and of everything else.
import type { Clusters } from '../../../stats/causes/clusters.ts'
import type { Factor, Inspected } from '../../../stats/causes/table.ts'
import { poissonAtLeast } from '../../../stats/distributions.ts'
import { type Random, randomOf } from '../../random.ts'
import { drifting, propertiesOf } from './properties.ts'
import { type Property, type Shop, workShop } from './shop.ts'

export interface Hidden {
  sort: 'lot' | 'machine' | 'batch' | 'threshold' | 'pair'
  /** As the search names it. */
  named: string
  /** In words. */
  words: string
  /** Rate with it over rate without. */
  times: number
  /**
   * Of as many defects among the exposed without it: the test of a plant that knows its own luck, at the factor
   * as it was recorded.
   */
  chance: number
  /** The same test told where the factor was at work even if nobody recorded it: no record tells that. */
  chanceTold: number
  /** Part of each row exposed, as far as loads are recorded; and the same as far as the factor is, NaN where not. */
  exposure: Float64Array
  recorded: Float64Array
}

export interface Run {
  inspected: Inspected
  factors: Factor[]
  clusters: Clusters[]
  hidden: Hidden | undefined
}

/** One run of the light foundry: about so many castings looked at, with a cause or without. */
export function runOf(seed: number, castings: number, planted: boolean): Run {
  const random = randomOf(seed, planted ? 'with a cause' : 'without a cause')
  const byCavity = random.chance(0.5)
  const shop = workShop(random, castings, byCavity)
  const properties = propertiesOf(random, shop)
  if (byCavity) properties.push(cavities(shop))
  const rates = new Rates(random, shop)
  const cause = planted ? choose(random, shop, properties) : undefined
  const defective = rates.defects(random, cause && { exposed: cause.exposed, times: cause.times })
  const { rows, castings: looked, makeup } = shop
  const stratum = Int32Array.from(rows, ({ product }) => product)
  const inspected = { castings: looked, defective, stratum, makeups: [makeup] }
  const factors = properties.map(({ factor }) => factor)
  return {
    inspected,
    factors,
    clusters: clustersOf(properties),
    hidden: cause && hiddenOf(random, shop, rates, inspected, cause),
  }
}

interface Cause extends Pick<Hidden, 'sort' | 'named' | 'words' | 'times'> {
  /** By atom of the makeup: 0 to 1. */
  exposed: Float64Array
  /** The same as it was recorded: NaN where it was not. */
  recorded: Float64Array
}

/** A cause concerns at least so many. */
const LEAST_CASTINGS = 80

/** Tries until a cause touches some castings, and not most of them. */
function choose(random: Random, shop: Shop, properties: readonly Property[]): Cause {
  const sort = random.pick(['lot', 'machine', 'batch', 'threshold', 'pair'] as const)
  const times = Math.exp(random.between(Math.log(2), Math.log(10)))
  for (;;) {
    const one = conditionsOf(random, properties, sort)
    const exposed = together(shop, properties, one)
    const share = shareOf(shop, exposed)
    const castings = share * shop.castings.reduce((a, b) => a + b, 0)
    if (castings < LEAST_CASTINGS || share > 0.6) continue
    const named = one
      .map(({ named }) => named)
      .sort()
      .join(' & ')
    const words = one.map(({ words }) => words).join(' and ')
    const recorded = together(shop, properties, one, recordedOf)
    return { sort, named, words, times, exposed, recorded }
  }
}

interface Condition {
  property: number
  named: string
  words: string
  holds: (value: number) => number
}

function conditionsOf(
  random: Random,
  properties: readonly Property[],
  sort: Hidden['sort'],
): Condition[] {
  switch (sort) {
    case 'lot':
      return [dose(random, properties)]
    case 'machine':
      return [level(random, properties, 'machine')]
    case 'batch':
      return [level(random, properties, 'batch')]
    case 'threshold':
      return [beyond(random, properties, 'measure', random.between(0.03, 0.35))]
    case 'pair': {
      const first = level(random, properties, 'machine')
      const second = random.pick(['machine', 'measure', 'measure', 'time'] as const)
      const other =
        second === 'machine'
          ? level(random, properties, 'machine')
          : beyond(random, properties, second, random.between(0.2, 0.5))
      return first.property === other.property
        ? conditionsOf(random, properties, sort)
        : [first, other]
    }
  }
}

function pickOf(random: Random, properties: readonly Property[], sort: Property['sort']): number {
  return random.pick([...properties.keys()].filter((p) => properties[p]!.sort === sort))
}

function dose(random: Random, properties: readonly Property[]): Condition {
  const property = pickOf(random, properties, 'lot')
  return { property, named: `${property}*`, words: nameOf(properties, property), holds: (x) => x }
}

function level(
  random: Random,
  properties: readonly Property[],
  sort: 'machine' | 'batch',
): Condition {
  const property = pickOf(random, properties, sort)
  const wanted = random.pick([...properties[property]!.truly])
  return {
    property,
    named: `${property}=${wanted}`,
    words: `${nameOf(properties, property)} ${wanted + 1}`,
    holds: (code) => (code === wanted ? 1 : 0),
  }
}

function beyond(
  random: Random,
  properties: readonly Property[],
  sort: 'measure' | 'time',
  tail: number,
): Condition {
  const property = pickOf(random, properties, sort)
  const sorted = Float64Array.from(properties[property]!.truly).sort()
  const high = random.chance(0.5)
  const cut = sorted[Math.floor((high ? 1 - tail : tail) * (sorted.length - 1))]!
  const side = sort === 'time' ? '[]' : high ? '>' : '<'
  return {
    property,
    named: property + side,
    words: `${nameOf(properties, property)} ${high ? 'high' : 'low'}`,
    holds: (value) => ((high ? value >= cut : value < cut) ? 1 : 0),
  }
}

function nameOf(properties: readonly Property[], property: number): string {
  return properties[property]!.factor.name
}

function together(
  shop: Shop,
  properties: readonly Property[],
  all: readonly Condition[],
  valuesOf: (property: Property) => ArrayLike<number> = ({ truly }) => truly,
): Float64Array {
  const { start, unit } = shop.makeup
  const exposed = new Float64Array(unit.length).fill(1)
  for (const { property, holds } of all) {
    const { factor } = properties[property]!
    const values = valuesOf(properties[property]!)
    for (let r = 0; r < shop.rows.length; r++)
      for (let i = start[r]!; i < start[r + 1]!; i++) {
        const value = values[factor.of === 'row' ? r : unit[i]!]!
        // Of two conditions one that surely does not hold is enough.
        if (exposed[i] === 0) continue
        const one = Number.isNaN(value) ? Number.NaN : holds(value)
        exposed[i] = one === 0 ? 0 : exposed[i]! * one
      }
  }
  return exposed
}

function recordedOf({ factor }: Property): ArrayLike<number> {
  if (factor.form !== 'levels') return factor.values
  return Float64Array.from(factor.codes, (code) => (code < 0 ? Number.NaN : code))
}

/** Part of each row exposed, of what is known of it; NaN where less than half is. */
function byRow({ makeup, castings }: Shop, exposed: Float64Array): Float64Array {
  return castings.map((_, r) => {
    let [sum, known] = [0, 0]
    for (let i = makeup.start[r]!; i < makeup.start[r + 1]!; i++) {
      if (Number.isNaN(exposed[i]!)) continue
      sum += makeup.part[i]! * exposed[i]!
      known += makeup.part[i]!
    }
    return known < 0.5 ? Number.NaN : sum / known
  })
}

function shareOf(shop: Shop, exposed: Float64Array): number {
  let [some, all] = [0, 0]
  for (const [i, n] of shop.truly.entries()) {
    some += n * exposed[i]!
    all += n
  }
  return some / all
}

/** Rates without any named cause: products and cavities differ, and luck is shared by heats, sand, loads and hours. */
class Rates {
  readonly #shop: Shop
  readonly #level: number
  readonly #product: number[]
  readonly #spread: {
    heat: number
    sand: number
    blast: number
    load: number
    pourTime: number
    loadTime: number
  }

  constructor(random: Random, shop: Shop) {
    this.#shop = shop
    this.#level = Math.log(random.between(0.005, 0.02)) + random.between(0, 1.5)
    this.#product = Array.from({ length: 12 }, () => random.normal(0, 0.4))
    this.#spread = {
      heat: random.between(0.05, 0.4),
      sand: random.between(0, 0.3),
      blast: random.between(0, 0.3),
      load: random.between(0.05, 0.4),
      pourTime: random.between(0.05, 0.3),
      loadTime: random.between(0.05, 0.3),
    }
  }

  /** Chance of each atom's castings in one go of luck. */
  chances(random: Random): Float64Array {
    const shop = this.#shop
    const { start, unit } = shop.makeup
    const spread = this.#spread
    const luck = (count: number, by: number) =>
      Float64Array.from({ length: count }, () => random.normal(0, by))
    const heat = luck(shop.heats, spread.heat)
    const sand = luck(shop.sands, spread.sand)
    const blast = luck(shop.blasts.length, spread.blast)
    const load = luck(shop.loads.length, spread.load)
    const pourTime = drifting(random, shop.pours.length, 0.985)
    const loadTime = drifting(random, shop.loads.length, 0.9)
    const cavity = [random.normal(0, 0.1), random.normal(0, 0.1)]
    return new Float64Array(unit.length).map((_, i) => {
      const r = this.#rowOf(start, i)
      const { pour, cavity: place, blast: drum } = shop.units[unit[i]!]!
      const { heat: h, sand: s, product, trouble } = shop.pours[pour]!
      const at = shop.rows[r]!.load
      const log =
        this.#level +
        this.#product[product]! +
        heat[h]! +
        sand[s]! +
        blast[drum]! +
        load[at]! +
        spread.pourTime * pourTime[pour]! +
        spread.loadTime * loadTime[at]! +
        cavity[place]! +
        0.4 * Math.max(trouble, shop.loads[at]!.trouble)
      return Math.min(0.5, Math.exp(log))
    })
  }

  #row: Int32Array | undefined
  #rowOf(start: Int32Array, i: number): number {
    if (!this.#row) {
      this.#row = new Int32Array(start.at(-1)!)
      for (let r = 0; r + 1 < start.length; r++) this.#row.fill(r, start[r]!, start[r + 1]!)
    }
    return this.#row[i]!
  }

  /** Defective castings by row. */
  defects(random: Random, cause?: { exposed: Float64Array; times: number }): Float64Array {
    const chances = this.chances(random)
    const { makeup, rows, truly } = this.#shop
    const defective = new Float64Array(rows.length)
    for (let r = 0; r < rows.length; r++)
      for (let i = makeup.start[r]!; i < makeup.start[r + 1]!; i++) {
        const more = cause ? 1 + (cause.times - 1) * cause.exposed[i]! : 1
        const chance = Math.min(0.9, chances[i]! * more)
        for (let n = truly[i]!; n > 0; n--) if (random.chance(chance)) defective[r]!++
      }
    return defective
  }
}

/** Goes of luck by which the plant knows what its own luck does to the counts. */
const REPEATS = 200

function hiddenOf(
  random: Random,
  shop: Shop,
  rates: Rates,
  inspected: Inspected,
  cause: Cause,
): Hidden {
  const exposure = byRow(shop, cause.exposed)
  const recorded = byRow(shop, cause.recorded)
  const { sort, named, words, times } = cause
  let [chance, chanceTold] = [0, 0]
  for (let repeat = 0; repeat < REPEATS; repeat++) {
    const luck = rates.chances(random)
    chance += chanceOf(shop, inspected, recorded, luck) / REPEATS
    chanceTold += chanceOf(shop, inspected, exposure, luck) / REPEATS
  }
  return { sort, named, words, times, chance, chanceTold, exposure, recorded }
}

/**
 * Chance of as many defects among the exposed, or more, in one go of luck without a cause, each product
 * held to its total. Rows that are exposed in part count in part: their sum is taken for a multiple of a
 * Poisson count with the same mean and variance.
 */
function chanceOf(
  { makeup, truly }: Shop,
  { stratum, defective }: Inspected,
  exposure: Float64Array,
  chances: Float64Array,
): number {
  const strata = Math.max(...stratum) + 1
  const [found, expected] = [new Float64Array(strata), new Float64Array(strata)]
  const [exposed, squared] = [new Float64Array(strata), new Float64Array(strata)]
  let seen = 0
  for (const [r, s] of stratum.entries()) {
    const x = exposure[r]!
    if (Number.isNaN(x)) continue
    let mean = 0
    for (let i = makeup.start[r]!; i < makeup.start[r + 1]!; i++) mean += truly[i]! * chances[i]!
    found[s]! += defective[r]!
    expected[s]! += mean
    exposed[s]! += x * mean
    squared[s]! += x * x * mean
    seen += x * defective[r]!
  }
  let [mean, variance] = [0, 0]
  for (let s = 0; s < strata; s++) {
    if (expected[s] === 0) continue
    mean += (found[s]! * exposed[s]!) / expected[s]!
    variance += (found[s]! * squared[s]!) / expected[s]!
  }
  return mean > 0 ? poissonAtLeast((seen * mean) / variance, (mean * mean) / variance) : 1
}

function cavities(shop: Shop): Property {
  const truly = Int32Array.from(shop.rows, ({ cavity }) => cavity)
  const levels = ['cavity 1', 'cavity 2']
  return {
    factor: { form: 'levels', kind: 'machine', name: 'cavity', of: 'row', codes: truly, levels },
    truly,
    sort: 'machine',
  }
}

/** Castings share their luck by batch, and by the hour, the shift and the day. */
function clustersOf(properties: readonly Property[]): Clusters[] {
  return properties.flatMap(({ factor }): Clusters[] => {
    if (factor.form === 'levels' && factor.kind === 'batch')
      return [{ of: factor.of, codes: factor.codes, groups: factor.levels.length }]
    if (factor.form !== 'measure' || factor.kind !== 'time') return []
    return [2, 8, 24].map((hours) => {
      const codes = Int32Array.from(factor.values, (at) => Math.floor(at / hours))
      return { of: factor.of, codes, groups: Math.max(...codes) + 1 }
    })
  })
}
