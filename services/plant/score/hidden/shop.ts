// A light foundry that makes only columns: what every casting went through, what of it was recorded,
// and how loads mingled. Fast enough for hundreds of runs, and as tangled as a plant: factors drift,
// move together, go missing when the line is in trouble, and defects come in clusters.
import type { Factor } from '../../../stats/causes/table.ts'
import type { Random } from '../../random.ts'

/** A property of units or rows, as it was; some of it is recorded. */
export interface Property {
  factor: Factor
  /** As it was, where the record has gaps: codes or values. */
  truly: Int32Array | Float64Array
  /** A stage later than the one castings were looked at: never. */
  sort: 'machine' | 'batch' | 'lot' | 'measure' | 'time'
}

/** A stretch of castings alike from the pour to the blast. */
export interface Unit {
  pour: number
  product: number
  cavity: number
  blast: number
}

/** Castings of one product in one oven load. */
export interface Row {
  load: number
  product: number
  cavity: number
}

export interface Pour {
  heat: number
  ladle: number
  sand: number
  line: number
  product: number
  /** Hours since the first. */
  at: number
  castings: number
  place: number
  trouble: number
}

export interface Shop {
  pours: Pour[]
  heats: number
  ladles: { heat: number; at: number; steel: number }[]
  sands: number
  blasts: { shaken: number; at: number; machine: number; trouble: number }[]
  loads: { at: number; trouble: number }[]
  units: Unit[]
  rows: Row[]
  /** Unit and part by row, as worked out from what is recorded of loads. */
  makeup: { start: Int32Array; unit: Int32Array; part: Float64Array }
  /** Castings of each atom of the makeup, as they really went. */
  truly: Float64Array
  castings: Float64Array
}

const PRODUCTS = 6
const TAPS = 5
const POURS_A_LADLE = 2

export function workShop(random: Random, castings: number, byCavity: boolean): Shop {
  const shop = pourAll(random, castings)
  const shaken = shakeOut(random, shop)
  return finish(random, shop, shaken, byCavity)
}

interface Poured {
  pours: Pour[]
  heats: number
  ladles: Shop['ladles']
  sands: number
}

function pourAll(random: Random, castings: number): Poured {
  const shop: Poured = { pours: [], heats: 0, ladles: [], sands: 0 }
  const running = [0, 0]
  const until = [0, 0]
  const sand = [0, 1]
  const mulledUntil = [0.5, 0.6]
  shop.sands = 2
  let [at, made, troubleUntil] = [0, 0, 0]
  while (made < castings) {
    const heat = shop.heats++
    for (let tap = 0; tap < TAPS; tap++) {
      at += random.between(0.1, 0.16)
      if (random.chance(0.004)) at += random.between(0.5, 3)
      if (random.chance(0.004)) troubleUntil = at + random.between(0.5, 3)
      const ladle = shop.ladles.push({ heat, at, steel: random.whole(0, 5) }) - 1
      for (let place = 0; place < POURS_A_LADLE; place++) {
        const line = (tap + place) % 2
        if (at > until[line]!) {
          running[line] = random.whole(0, PRODUCTS - 1)
          until[line] = at + random.between(3, 9)
        }
        if (at > mulledUntil[line]!) {
          sand[line] = shop.sands++
          mulledUntil[line] = at + random.between(0.4, 0.8)
        }
        const count = 2 * random.whole(6, 14)
        shop.pours.push({
          heat,
          ladle,
          sand: sand[line]!,
          line,
          product: running[line]!,
          at: at + 0.05 * (place + random.unit()),
          castings: count,
          place,
          trouble: at < troubleUntil ? 1 : 0,
        })
        made += count
      }
    }
  }
  return shop
}

/** Castings of one shake-out load: of some pours of one line, one after another. */
interface Shaken {
  pours: { pour: number; castings: number }[]
  castings: number
  at: number
}

function shakeOut(random: Random, { pours }: Poured): Shaken[] {
  const loads: Shaken[] = []
  for (const line of [0, 1]) {
    let load: Shaken | undefined
    for (const [pour, one] of pours.entries()) {
      if (one.line !== line) continue
      if (!load || load.castings > 90) {
        load = { pours: [], castings: 0, at: 0 }
        loads.push(load)
      }
      load.pours.push({ pour, castings: one.castings })
      load.castings += one.castings
      load.at = one.at + random.between(1.2, 1.6)
    }
  }
  return loads.sort((a, b) => a.at - b.at)
}

/** Shaken out, blasted in halves, then in oven loads from up to three of those. */
function finish(random: Random, poured: Poured, shaken: Shaken[], byCavity: boolean): Shop {
  const units = new Map<string, number>()
  const shop: Shop = {
    ...poured,
    blasts: [],
    loads: [],
    units: [],
    rows: [],
    makeup: { start: new Int32Array(1), unit: new Int32Array(0), part: new Float64Array(0) },
    truly: new Float64Array(0),
    castings: new Float64Array(0),
  }
  const unitOf = (unit: Unit): number => {
    const key = `${unit.pour} ${unit.cavity} ${unit.blast}`
    const no = units.get(key) ?? shop.units.push(unit) - 1
    units.set(key, no)
    return no
  }
  const start = [0]
  const unit: number[] = []
  const part: number[] = []
  const truly: number[] = []
  const castings: number[] = []
  let waiting: { blast: number; pieces: { pour: number; cavity: number }[]; from: Shaken }[] = []
  const bake = () => {
    const load =
      shop.loads.push({
        at: Math.max(...waiting.map(({ blast }) => shop.blasts[blast]!.at)) + random.between(2, 5),
        trouble: random.chance(0.06) ? 1 : 0,
      }) - 1
    rowsOf(load)
    waiting = []
  }
  const rowsOf = (load: number) => {
    const rows = new Map<string, Filling>()
    for (const { blast, pieces, from } of waiting) {
      const known = pieces.length / from.castings
      for (const { pour, castings: n } of from.pours)
        for (const cavity of [0, 1]) {
          const { product } = poured.pours[pour]!
          const row = rowFor(rows, { load, product, cavity: byCavity ? cavity : -1 })
          const no = unitOf({ pour, product, cavity, blast })
          row.said.set(no, (row.said.get(no) ?? 0) + (known * n) / 2)
        }
      for (const { pour, cavity } of pieces) {
        const { product } = poured.pours[pour]!
        const row = rowFor(rows, { load, product, cavity: byCavity ? cavity : -1 })
        const no = unitOf({ pour, product, cavity, blast })
        row.truly.set(no, (row.truly.get(no) ?? 0) + 1)
      }
    }
    for (const { row, truly: went, said } of rows.values()) {
      const looked = [...went.values()].reduce((a, b) => a + b, 0)
      if (looked === 0) continue
      const all = [...said.values()].reduce((a, b) => a + b, 0)
      for (const [no, n] of said) {
        unit.push(no)
        part.push(n / all)
        truly.push(went.get(no) ?? 0)
      }
      shop.rows.push(row)
      castings.push(looked)
      start.push(unit.length)
    }
  }
  for (const from of shaken) {
    const pieces = shuffled(
      random,
      from.pours.flatMap(({ pour, castings: n }) =>
        Array.from({ length: n }, (_, i) => ({ pour, cavity: i % 2 })),
      ),
    )
    const half = Math.ceil(pieces.length / 2)
    for (const some of [pieces.slice(0, half), pieces.slice(half)]) {
      const trouble = poured.pours[from.pours[0]!.pour]!.trouble
      const at = from.at + random.between(0.5, 2)
      const blast =
        shop.blasts.push({
          shaken: shaken.indexOf(from),
          at,
          machine: random.whole(0, 3),
          trouble,
        }) - 1
      waiting.push({ blast, pieces: some, from })
      if (waiting.length >= random.whole(1, 3)) bake()
    }
  }
  if (waiting.length > 0) bake()
  shop.makeup = {
    start: Int32Array.from(start),
    unit: Int32Array.from(unit),
    part: Float64Array.from(part),
  }
  shop.truly = Float64Array.from(truly)
  shop.castings = Float64Array.from(castings)
  return shop
}

/** Castings by unit: as they went, and as is worked out. */
interface Filling {
  row: Row
  truly: Map<number, number>
  said: Map<number, number>
}

function rowFor(rows: Map<string, Filling>, row: Row): Filling {
  const key = `${row.product} ${row.cavity}`
  const one = rows.get(key) ?? { row, truly: new Map(), said: new Map() }
  rows.set(key, one)
  return one
}

function shuffled<T>(random: Random, list: T[]): T[] {
  for (let i = list.length - 1; i > 0; i--) {
    const j = random.whole(0, i)
    ;[list[i], list[j]] = [list[j]!, list[i]!]
  }
  return list
}
