// The yard: lots as trucks bring them, bays and silos, returns until they are melted again. Lots are
// used up oldest first.
import { Bay } from './bay.ts'
import { HOUR, MINUTE, type Process } from './clock.ts'
import { BAD, type Chemistry, type Element, type Iron, ironOf } from './iron.ts'
import { MATERIALS, type Material, type MaterialId } from './materials.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import { type World, weighed } from './world.ts'

/** What a pile, bag or bay still holds. */
export interface Stock {
  /** `lot:id` or `bin:id`. */
  name: string
  /** Unit: kg, dross and all. */
  rawKg: number
  iron: Iron
}

export interface Drawn {
  of: string
  kg: number
}

/** Returns stay this deep in the yard, so that what is melted again is from the day before. */
const RESERVE_KG = 13_000
/** When the bad lot is opened, from the first morning on. */
const BAD_OPENED = 12.5 * HOUR
const BAD_KG = 1450
/** Aluminized exhaust sheet among clean bundles. */
const BAD_CHEMISTRY: Chemistry = { C: 0.05, Si: 0.3, Mn: 0.4, Cr: 1.6, Ni: 0.3, Al: 0.6, Ti: 0.3 }
const FIRST_LOT = 3371

export class Yard {
  readonly #world: World
  readonly #random: Random
  readonly #gate: Station
  readonly #crane: Station
  readonly #stocks = new Map<string, Stock[]>()
  readonly #ordered = new Set<MaterialId>()
  /** Lies in layers; absent where it is turned over. */
  readonly #bay: Bay | undefined
  /** Oldest first. */
  readonly returns: Stock[] = []
  #bad: Stock | undefined
  #lots = FIRST_LOT

  constructor(world: World) {
    this.#world = world
    this.#random = world.random('yard')
    if (world.dirty) this.#bay = new Bay(world, 'bay-3')
    this.#gate = world.post.station('receive/gate', { entry: 'scan' })
    this.#crane = world.post.station('receive/yard-crane', {
      entry: 'hand',
      delaySeconds: [60, 900],
    })
  }

  /** What the yard holds before the first shift, then a truck whenever something runs short. */
  *work(): Process {
    for (const bin of ['bay-3', 'silo-bond', 'silo-sand']) {
      this.#crane.say('receive.bin-set.v1', 'bin:' + bin, { bin, kg: 0, reason: 'cleaned' })
    }
    yield 20 * MINUTE
    for (const material of Object.keys(MATERIALS) as MaterialId[]) {
      const lots: number = material === 'cast scrap' ? 4 : MATERIALS[material].lots
      for (let i = 0; i < lots; i++) {
        this.#receive(material)
        yield 6 * MINUTE
      }
    }
    this.#world.clock.at(this.#world.start + 4.7 * HOUR, () => this.#receiveBad())
    for (let day = 0; day < this.#world.days; day++) {
      const opening = this.#world.opening(day)
      yield this.#world.until(opening)
      while (this.#world.clock.now < opening + 13 * HOUR) {
        this.#order()
        yield 45 * MINUTE
      }
    }
  }

  /** Takes material out of the yard, and says which lots or bins it came from. */
  use(material: MaterialId | 'returns', kg: number, into: Iron): Drawn[] {
    if (material === 'returns') return this.#useReturns(kg, into)
    if (this.#bay && isInBay(material)) return this.#useBay(this.#bay, material, kg, into)
    const drawn: Drawn[] = []
    const stocks = this.#of(material)
    const bad = this.#bad
    if (
      material === 'steel bundles' &&
      bad &&
      this.#world.clock.now > this.#world.start + BAD_OPENED
    ) {
      this.#bad = undefined
      stocks.unshift(bad)
    }
    for (let left = kg; left > 0.001; ) {
      const stock = stocks[0] ?? this.#receive(material)
      left -= this.#take(stock, left, into, drawn)
      if (stock.rawKg < 0.001 && !stock.name.startsWith('bin:')) stocks.shift()
      else if (stock.rawKg < 0.001) this.#receive(material)
    }
    return drawn
  }

  #useBay(bay: Bay, material: MaterialId, kg: number, into: Iron): Drawn[] {
    while (bay.rawKg < kg) this.#receive(material)
    return [{ of: 'bin:bay-3', kg: bay.draw(kg, into) }]
  }

  /** A lot of returns comes back, to be melted again. */
  collect(name: string, rawKg: number, iron: Iron): void {
    this.returns.push({ name, rawKg, iron })
  }

  #useReturns(kg: number, into: Iron): Drawn[] {
    const drawn: Drawn[] = []
    let left = kg
    while (left > 0.001) {
      const held = this.returns.reduce((sum, stock) => sum + stock.rawKg, 0)
      const oldest = this.returns[0]
      if (!oldest || held < RESERVE_KG) break
      left -= this.#take(oldest, left, into, drawn)
      if (oldest.rawKg < 0.001) this.returns.shift()
    }
    // Too little lies there: bought castings take its place.
    return left > 0.001 ? [...drawn, ...this.use('cast scrap', left, into)] : drawn
  }

  #take(stock: Stock, kg: number, into: Iron, drawn: Drawn[]): number {
    const taken = Math.min(kg, stock.rawKg)
    this.#world.move(stock.iron, into, (taken * stock.iron.kg) / stock.rawKg)
    stock.rawKg -= taken
    drawn.push({ of: stock.name, kg: taken })
    return taken
  }

  #of(material: MaterialId): Stock[] {
    let stocks = this.#stocks.get(material)
    if (!stocks) {
      const { bin }: Material = MATERIALS[material]
      const node = () => this.#world.truth.metal.node('bin:' + bin)
      stocks = bin ? [{ name: 'bin:' + bin, rawKg: 0, iron: ironOf(node()) }] : []
      this.#stocks.set(material, stocks)
    }
    return stocks
  }

  #order(): void {
    for (const material of Object.keys(MATERIALS) as MaterialId[]) {
      const { leastKg, lots }: Material = MATERIALS[material]
      const held = this.#held(material)
      if (held >= leastKg || this.#ordered.has(material)) continue
      this.#ordered.add(material)
      const arrival = this.#world.clock.now + this.#random.between(20, 70) * MINUTE
      this.#world.clock.at(arrival, () => {
        this.#ordered.delete(material)
        for (let i = 0; i < lots; i++) this.#receive(material)
      })
    }
  }

  #held(material: MaterialId): number {
    if (this.#bay && isInBay(material)) return this.#bay.rawKg
    return this.#of(material).reduce((sum, stock) => sum + stock.rawKg, 0)
  }

  #receive(material: MaterialId): Stock {
    const { lotKg, metalPercent, chemistry, bin, suppliers }: Material = MATERIALS[material]
    const kg = lotKg * this.#random.between(0.94, 1.06)
    const supplier = this.#random.pick(suppliers)
    const own = chemistry && this.#vary(chemistry)
    const stock = this.#arrive(material, supplier, kg, metalPercent, own)
    const stocks = this.#of(material)
    if (!bin) stocks.push(stock)
    else if (this.#bay && isInBay(material)) this.#bay.dump(stock.iron, kg)
    else {
      const [silo] = stocks
      this.#world.move(stock.iron, silo!.iron, stock.iron.kg)
      silo!.rawKg += kg
    }
    return stocks[0]!
  }

  #receiveBad(): void {
    const stock = this.#arrive('steel bundles', 'Harrow & Tine Scrap', BAD_KG, 98, BAD_CHEMISTRY)
    stock.iron.parts[BAD] = stock.iron.kg
    this.#bad = stock
    this.#world.truth.cause = { lot: stock.name, flaw: 'pinhole', base: 0.008, slope: 0.9 }
  }

  #arrive(
    material: MaterialId,
    supplier: string,
    kg: number,
    metalPercent: number,
    chemistry?: Chemistry,
  ): Stock {
    const { prefix, role, told, bin }: Material = MATERIALS[material]
    const lot = `${prefix}-${this.#lots++}`
    const node = this.#world.truth.metal.node('lot:' + lot)
    // What becomes no metal is followed by its whole mass: oil in a tank, shot in a hopper.
    const worth = kg * (metalPercent > 0 ? this.#yield(metalPercent) : 1)
    this.#world.truth.metal.receive(node, worth)
    if (chemistry) this.#world.truth.analyses.set('lot:' + lot, chemistry)
    const layered = isInBay(material)
    const scale = kg > 1000 ? 'weighbridge' : 'platform-1'
    const shown = weighed(this.#random, kg * this.#world.bias(scale, 0.004), kg > 1000 ? 10 : 0.5)
    const certified = role !== 'metallic' || material === 'pig iron'
    const pounds = supplier === 'Sprackland Metals'
    const said: Given = {
      lot,
      material,
      role,
      metalPercent: told ? metalPercent : undefined,
      kg: pounds ? { value: Math.round(shown / 0.45359237), unit: 'LBR', how: 'weighed' } : shown,
      scale,
      supplier,
      supplierLots: [`${supplier.slice(0, 2).toUpperCase()}${this.#random.whole(10_000, 99_999)}`],
      certificate: certified && chemistry ? certificate(chemistry) : undefined,
      bin: layered ? undefined : bin,
    }
    this.#gate.say('receive.lot-received.v1', 'lot:' + lot, said)
    if (layered) {
      // Turned over by the magnet after every truck, where the yard is kept tidy.
      const mixing = this.#bay ? { mixing: 'unknown', turnover: 2 } : { mixing: 'mixed' }
      const line = { of: 'lot:' + lot, kg: shown }
      const fill = { bin, use: 'bay', lines: [line], ...mixing }
      this.#crane.say('receive.bin-filled.v1', 'bin:' + bin, fill)
    }
    return { name: 'lot:' + lot, rawKg: kg, iron: ironOf(node, worth, chemistry) }
  }

  /** Metal in one kg; in a dirty yard nobody can say it so exactly. */
  #yield(metalPercent: number): number {
    const off = this.#world.dirty ? this.#random.normal(0, 0.8) : 0
    return Math.min(100, metalPercent + off) / 100
  }

  /** No two lots are quite alike. */
  #vary(chemistry: Chemistry): Chemistry {
    const varied: Chemistry = {}
    for (const [element, percent] of Object.entries(chemistry)) {
      const spread = percent > 3 ? 0.01 : 0.12
      const own = percent * Math.max(0.4, this.#random.normal(1, spread))
      varied[element as Element] = Math.min(own, 99.4)
    }
    return varied
  }
}

function isInBay(material: MaterialId): boolean {
  const { bin }: Material = MATERIALS[material]
  return bin === 'bay-3'
}

function certificate(chemistry: Chemistry): Given {
  return Object.fromEntries(
    Object.entries(chemistry).map(([element, percent]) => [
      element,
      Number(percent.toPrecision(3)),
    ]),
  )
}
