// What is recorded of castings in the light foundry: machines, batches, lots by dose, measures and
// clocks; most of it moves together or drifts, and some of it is missing.
import type { Of } from '../../../stats/causes/table.ts'
import type { Random } from '../../random.ts'
import type { Property, Shop } from './shop.ts'

/** Scans and samples go missing this often, and this many times more often in trouble. */
const MISSING = [0.02, 0.12] as const
const IN_TROUBLE = 4

export function propertiesOf(random: Random, shop: Shop): Property[] {
  const maker = new Maker(random, shop)
  return [
    ...melt(random, shop, maker),
    ...mold(random, shop, maker),
    ...clean(random, shop, maker),
    ...season(random, shop, maker),
  ]
}

type Place = 'heat' | 'ladle' | 'pour' | 'sand' | 'blast' | 'load'

/** Carries what is known of heats, pours or loads to units and rows, with gaps. */
class Maker {
  readonly #random: Random
  readonly #by: Record<Place, { count: number; index: Int32Array; trouble: Float64Array }>

  constructor(random: Random, shop: Shop) {
    this.#random = random
    const { units, pours, rows } = shop
    const ofPour = (pick: (pour: (typeof pours)[number]) => number) =>
      Int32Array.from(units, ({ pour }) => pick(pours[pour]!))
    const trouble = (count: number, index: (pour: (typeof pours)[number]) => number) => {
      const found = new Float64Array(count)
      for (const pour of pours) found[index(pour)] = pour.trouble
      return found
    }
    this.#by = {
      heat: {
        count: shop.heats,
        index: ofPour(({ heat }) => heat),
        trouble: trouble(shop.heats, ({ heat }) => heat),
      },
      ladle: {
        count: shop.ladles.length,
        index: ofPour(({ ladle }) => ladle),
        trouble: trouble(shop.ladles.length, ({ ladle }) => ladle),
      },
      sand: {
        count: shop.sands,
        index: ofPour(({ sand }) => sand),
        trouble: trouble(shop.sands, ({ sand }) => sand),
      },
      pour: {
        count: pours.length,
        index: Int32Array.from(units, ({ pour }) => pour),
        trouble: Float64Array.from(pours, ({ trouble }) => trouble),
      },
      blast: {
        count: shop.blasts.length,
        index: Int32Array.from(units, ({ blast }) => blast),
        trouble: Float64Array.from(shop.blasts, ({ trouble }) => trouble),
      },
      load: {
        count: shop.loads.length,
        index: Int32Array.from(rows, ({ load }) => load),
        trouble: Float64Array.from(shop.loads, ({ trouble }) => trouble),
      },
    }
  }

  count(place: Place): number {
    return this.#by[place].count
  }

  levels(
    name: string,
    place: Place,
    codes: readonly number[],
    sort: 'machine' | 'batch' = 'machine',
  ): Property {
    const { index } = this.#by[place]
    const truly = Int32Array.from(index, (at) => codes[at]!)
    const gone = sort === 'batch' ? undefined : this.#gone(place)
    const seen = gone ? Int32Array.from(index, (at) => (gone[at] ? -1 : codes[at]!)) : truly
    const count = Math.max(...codes) + 1
    const levels = Array.from({ length: count }, (_, i) => `${name} ${i + 1}`)
    return {
      factor: { form: 'levels', kind: sort, name, of: this.#of(place), codes: seen, levels },
      truly,
      sort,
    }
  }

  measure(
    name: string,
    place: Place,
    values: ArrayLike<number>,
    sort: 'measure' | 'time' = 'measure',
  ): Property {
    const { index } = this.#by[place]
    const truly = Float64Array.from(index, (at) => values[at]!)
    const gone = sort === 'time' ? undefined : this.#gone(place)
    const seen = gone
      ? Float64Array.from(index, (at) => (gone[at] ? Number.NaN : values[at]!))
      : truly
    return {
      factor: { form: 'measure', kind: sort, name, of: this.#of(place), values: seen },
      truly,
      sort,
    }
  }

  dose(name: string, place: Place, shares: Float64Array): Property {
    const { index } = this.#by[place]
    const most = Math.max(...shares) || 1
    const truly = Float64Array.from(index, (at) => shares[at]! / most)
    return {
      factor: { form: 'dose', kind: 'lot', name, of: this.#of(place), values: truly },
      truly,
      sort: 'lot',
    }
  }

  #of(place: Place): Of {
    return place === 'load' ? 'row' : 0
  }

  #gone(place: Place): Uint8Array {
    const often = this.#random.between(...MISSING)
    return Uint8Array.from(this.#by[place].trouble, (trouble) =>
      this.#random.chance(Math.min(0.9, often * (trouble ? IN_TROUBLE : 1))) ? 1 : 0,
    )
  }

  /** A drifting number for each in turn. */
  drift(place: Place, stays: number): Float64Array {
    return drifting(this.#random, this.count(place), stays)
  }

  /** Levels, some of which run more in some stretches than in others. */
  machines(place: Place, count: number): number[] {
    const random = this.#random
    const favour = Array.from({ length: count }, () => drifting(random, this.count(place), 0.98))
    return Array.from({ length: this.count(place) }, (_, i) => {
      let [best, score] = [0, Number.NEGATIVE_INFINITY]
      for (let m = 0; m < count; m++) {
        const one = favour[m]![i]! + random.normal(0, 1.3)
        if (one > score) [best, score] = [m, one]
      }
      return best
    })
  }
}

export function drifting(random: Random, count: number, stays: number): Float64Array {
  const values = new Float64Array(count)
  let now = random.normal(0, 1)
  const fresh = Math.sqrt(1 - stays * stays)
  for (let i = 0; i < count; i++) {
    values[i] = now
    now = stays * now + random.normal(0, fresh)
  }
  return values
}

/** Lots of a material, one after another, as parts of each melt; a heel carries some on. */
function* lots(
  random: Random,
  maker: Maker,
  place: Place,
  material: string,
  heel: number,
): Generator<Property> {
  const count = maker.count(place)
  const number = random.whole(5, 14)
  const ends = Array.from({ length: number - 1 }, () => random.unit() * count).sort((a, b) => a - b)
  const part = maker.drift(place, 0.9)
  for (let lot = 0; lot < number; lot++) {
    const [from, until] = [ends[lot - 1] ?? 0, ends[lot] ?? count]
    const shares = new Float64Array(count)
    let kept = 0
    for (let i = 0; i < count; i++) {
      const fed = i >= from && i < until ? Math.max(0.2, 1 + 0.3 * part[i]!) : 0
      kept = heel * kept + (1 - heel) * fed
      shares[i] = kept
    }
    yield maker.dose(`${material} lot ${lot + 1}`, place, shares)
  }
}

const ELEMENTS = ['C', 'Si', 'Mn', 'S', 'P', 'Cr', 'Cu', 'Ni', 'Sn', 'Ti', 'Al', 'Mo', 'V', 'Pb']
const METALS = [
  'pig iron',
  'steel scrap',
  'cast scrap',
  'carburizer',
  'ferrosilicon',
  'ferromanganese',
]

function melt(random: Random, shop: Shop, maker: Maker): Property[] {
  const heatAt = new Float64Array(shop.heats)
  for (const { heat, at } of shop.ladles) heatAt[heat] = at
  const hidden = [maker.drift('heat', 0.95), maker.drift('heat', 0.8)]
  const relined = sinceEvents(random, heatAt, 70)
  const hold = Float64Array.from(shop.ladles, () => 3 + 4 * random.unit() ** 2)
  const wait = Float64Array.from(
    shop.pours,
    ({ ladle, place }) => hold[ladle]! + 3 * place + random.normal(0, 0.7),
  )
  return [
    maker.levels('heat', 'heat', numbers(shop.heats), 'batch'),
    maker.levels('furnace', 'heat', maker.machines('heat', 2)),
    maker.levels('recipe', 'heat', steps(random, shop.heats, 3)),
    maker.levels(
      'melt shift',
      'heat',
      Array.from(heatAt, (at) => Math.floor(at / 8) % 3),
    ),
    maker.levels(
      'ladle',
      'ladle',
      shop.ladles.map(({ steel }) => steel),
    ),
    ...ELEMENTS.map((element, i) =>
      maker.measure(element, 'heat', mixed(random, hidden[i % 2]!, maker.drift('heat', 0.7))),
    ),
    maker.measure('bath temperature', 'heat', mixed(random, hidden[0]!, maker.drift('heat', 0.5))),
    maker.measure('energy', 'heat', mixed(random, hidden[1]!, maker.drift('heat', 0.6))),
    maker.measure('heats since reline', 'heat', relined),
    ...METALS.flatMap((metal) => [...lots(random, maker, 'heat', metal, 0.35)]),
    ...lots(random, maker, 'ladle', 'inoculant', 0.05),
    ...lots(random, maker, 'ladle', 'slag coagulant', 0.05),
    maker.measure(
      'tapping temperature',
      'ladle',
      Float64Array.from(shop.ladles, ({ heat }) => hidden[0]![heat]! + random.normal(0, 1)),
    ),
    maker.measure(
      'treatment to pour',
      'pour',
      Float64Array.from(wait, (minutes) => minutes - 1.5 + random.normal(0, 0.4)),
    ),
    maker.measure('tap to pour', 'pour', wait),
    maker.measure(
      'pouring temperature',
      'pour',
      Float64Array.from(
        shop.pours,
        ({ heat }, i) => 1430 + 6 * hidden[0]![heat]! - 4 * wait[i]! + random.normal(0, 5),
      ),
    ),
    maker.measure(
      'place in the ladle',
      'pour',
      shop.pours.map(({ place }) => place + random.unit()),
    ),
    maker.measure(
      'pour time',
      'pour',
      shop.pours.map(({ at }) => at),
      'time',
    ),
  ]
}

function mold(random: Random, shop: Shop, maker: Maker): Property[] {
  const damp = maker.drift('sand', 0.9)
  const at = Float64Array.from(shop.pours, ({ at }) => at)
  return [
    maker.levels('sand batch', 'sand', numbers(shop.sands), 'batch'),
    maker.levels(
      'line',
      'pour',
      shop.pours.map(({ line }) => line),
    ),
    maker.levels(
      'pattern',
      'pour',
      shop.pours.map(({ line, product }) => line * 6 + product),
    ),
    maker.levels('mixer', 'sand', maker.machines('sand', 2)),
    ...['moisture', 'compactability', 'green strength', 'permeability'].map((name) =>
      maker.measure(`sand ${name}`, 'sand', mixed(random, damp, maker.drift('sand', 0.7))),
    ),
    maker.measure('sand temperature', 'sand', maker.drift('sand', 0.97)),
    maker.measure('return sand', 'sand', maker.drift('sand', 0.9)),
    maker.measure('squeeze pressure', 'pour', maker.drift('pour', 0.97)),
    maker.measure(
      'mold made to poured',
      'pour',
      Float64Array.from(shop.pours, () => 20 + 30 * random.unit() ** 3),
    ),
    maker.measure('molds since a stop', 'pour', sinceEvents(random, at, 60)),
    maker.measure(
      'pour to shake-out',
      'pour',
      Float64Array.from(shop.pours, () => 80 + random.normal(0, 8)),
    ),
    ...['bentonite', 'coal dust'].flatMap((name) => [...lots(random, maker, 'sand', name, 0.8)]),
    ...junk(maker, 'pour', 'molding sensor', 12),
  ]
}

function clean(random: Random, shop: Shop, maker: Maker): Property[] {
  const at = Float64Array.from(shop.blasts, ({ at }) => at)
  return [
    maker.levels('blast load', 'blast', numbers(shop.blasts.length), 'batch'),
    maker.levels('blast', 'blast', maker.machines('blast', 4)),
    maker.levels('drum', 'blast', maker.machines('blast', 3)),
    maker.levels('grinder', 'blast', maker.machines('blast', 6)),
    maker.levels('shot fill', 'blast', steps(random, shop.blasts.length, 6)),
    maker.measure('blast minutes', 'blast', maker.drift('blast', 0.5)),
    maker.measure('drum minutes', 'blast', maker.drift('blast', 0.8)),
    maker.measure('blast current', 'blast', maker.drift('blast', 0.95)),
    maker.measure('hours since shot top-up', 'blast', sinceEvents(random, at, 30)),
    ...junk(maker, 'blast', 'cleaning sensor', 10),
  ]
}

function season(random: Random, shop: Shop, maker: Maker): Property[] {
  const at = Float64Array.from(shop.loads, ({ at }) => at)
  const hot = maker.drift('load', 0.9)
  return [
    maker.levels('oven load', 'load', numbers(shop.loads.length), 'batch'),
    maker.levels('oven', 'load', maker.machines('load', 2)),
    maker.levels('oiler', 'load', maker.machines('load', 3)),
    maker.levels('washer', 'load', maker.machines('load', 2)),
    maker.levels('rack', 'load', maker.machines('load', 8)),
    maker.levels(
      'finishing shift',
      'load',
      Array.from(at, (hours) => Math.floor(hours / 8) % 3),
    ),
    ...[1, 2, 3, 4].map((zone) =>
      maker.measure(
        `zone ${zone} temperature`,
        'load',
        mixed(random, hot, maker.drift('load', 0.7)),
      ),
    ),
    ...['bake minutes', 'oil temperature', 'film', 'spray voltage', 'wash pH'].map((name) =>
      maker.measure(name, 'load', maker.drift('load', 0.85)),
    ),
    ...['wash to dry', 'dry to oil', 'oil to bake'].map((name) =>
      maker.measure(
        name,
        'load',
        Float64Array.from(at, () => 5 + 20 * random.unit() ** 2),
      ),
    ),
    maker.measure('hours since tank top-up', 'load', sinceEvents(random, at, 20)),
    maker.measure('hours since oven changed', 'load', sinceEvents(random, at, 60)),
    maker.measure('finishing time', 'load', at, 'time'),
    ...lots(random, maker, 'load', 'oil', 0.6),
    ...junk(maker, 'load', 'finishing sensor', 12),
  ]
}

function junk(maker: Maker, place: Place, name: string, count: number): Property[] {
  return Array.from({ length: count }, (_, i) =>
    maker.measure(`${name} ${i + 1}`, place, maker.drift(place, [0.3, 0.8, 0.97, 0.995][i % 4]!)),
  )
}

function numbers(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i)
}

/** A level that goes on until it is replaced. */
function steps(random: Random, count: number, most: number): number[] {
  const levels = random.whole(2, most)
  const ends = Array.from({ length: levels - 1 }, () => random.unit() * count).sort((a, b) => a - b)
  return Array.from({ length: count }, (_, i) => ends.filter((end) => end <= i).length)
}

/** How long it is since the last of events that come about so many times. */
function sinceEvents(random: Random, at: Float64Array, every: number): Float64Array {
  let last = (at[0] ?? 0) - random.unit()
  return Float64Array.from(at, (now) => {
    if (random.chance(1 / every)) last = now
    return now - last + 0.01 * random.unit()
  })
}

function mixed(random: Random, shared: Float64Array, own: Float64Array): Float64Array {
  const part = random.between(0.3, 0.9)
  return shared.map((value, i) => part * value + Math.sqrt(1 - part * part) * own[i]!)
}
