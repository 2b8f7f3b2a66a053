// One furnace: melts on what it kept, is sampled and set right, and fills ladles until only the heel
// is left.
import type { Charge, ChargeBay } from './charging.ts'
import { type Bell, HOUR, MINUTE, type Process, type Rack } from './clock.ts'
import { burn, type Chemistry, type Iron, ironOf } from './iron.ts'
import type { Lab } from './lab.ts'
import type { Filling, Ladles } from './ladles.ts'
import { RECIPE } from './materials.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import { about, type World, weighed } from './world.ts'
import type { Yard } from './yard.ts'

/** Fill before the first tap, and what is kept after the last. */
export const FULL_KG = 1980
const HEEL_KG = 440
const TAP_KG = 500
/** Part of the metal that goes off with slag and fume. Common practice, no source. */
const BURNED = 0.002
/** What melting leaves of each element: within the usual induction losses, from memory. */
const LEFT: Chemistry = { C: 0.985, Si: 0.985, Mn: 0.96, Al: 0.5, Ti: 0.9 }

/** What a furnace works with. */
export interface Floor {
  world: World
  yard: Yard
  bay: ChargeBay
  lab: Lab
  ladles: Ladles
  /** Lines that want a ladle, and the bell that says so. */
  calls: Rack<Filling>[]
  called: Bell
}

export interface Manner {
  offSeconds: number
  offSecondsPerHour: number
  /** Weighs what it holds, and is drained each night; the other is neither. */
  weighs: boolean
  reason: 'relined' | 'cold'
}

export class Furnace {
  readonly name: string
  readonly station: Station
  readonly iron: Iron
  heat = ''
  taps = 0
  /** Between its first tap and its last. */
  serving = false
  readonly #floor: Floor
  readonly #random: Random
  readonly #manner: Manner
  /** A charge of which a part did not go in. */
  #rest: Charge | undefined

  constructor(name: string, floor: Floor, manner: Manner) {
    const { world } = floor
    const { offSeconds, offSecondsPerHour } = manner
    this.name = name
    this.station = world.post.station('melt/' + name, {
      entry: 'machine',
      counts: true,
      offSeconds,
      offSecondsPerHour,
    })
    this.iron = ironOf(world.truth.metal.node('furnace:' + name))
    this.#floor = floor
    this.#random = world.random(name)
    this.#manner = manner
  }

  *work(): Process {
    const { world } = this.#floor
    yield world.until(world.start - 2 * HOUR)
    this.#sayEmpty(this.#manner.reason)
    for (let day = 0; day < world.days; day++) {
      yield world.until(world.opening(day) - (this.#manner.weighs ? 45 : 65) * MINUTE)
      let first = true
      while (world.clock.now < world.closing(day) - 70 * MINUTE) {
        yield* this.#melt(first)
        yield* this.#serve(world.closing(day))
        first = false
      }
      yield world.until(world.closing(day) + 10 * MINUTE)
      yield* this.#shut()
    }
  }

  *#melt(first: boolean): Process {
    const { world, lab } = this.#floor
    const { iron, station } = this
    const heat = world.id('H', this.name, 2)
    this.heat = heat
    this.taps = 0
    const heelKg = iron.kg
    const started = world.clock.now
    const charges = this.#charge()
    if (this.#random.chance(0.15)) yield* this.#preheat(charges.at(-1)!.charge as string)
    yield about(this.#random, 25)
    burn(iron, LEFT)
    world.move(iron, ironOf(world.truth.metal.node('slag')), iron.kg * BURNED)
    this.#correct(lab.sample(iron, { heat }), heat)
    yield about(this.#random, 4)
    if (this.#random.chance(0.4)) lab.sample(iron, { heat })
    const kWh = Math.round((FULL_KG - heelKg) * this.#random.normal(0.57, 0.02))
    station.say('melt.heat-melted.v1', 'heat:' + heat, {
      heat,
      furnace: this.name,
      charges,
      fromEmpty: heelKg < 1 ? true : undefined,
      heelKg: heelKg >= 1 && (this.#manner.weighs || first) ? this.#gauge(heelKg) : undefined,
      celsius: Math.round(this.#random.normal(1492, 8)),
      startedAt: station.time(started),
      endedAt: station.time(world.clock.now),
      kWh: this.#random.chance(0.7) ? kWh : undefined,
    })
  }

  /** Puts in what was left of the last charge, and a new one; now and then not all of it goes in. */
  #charge(): Given[] {
    const { world, bay } = this.#floor
    const charges: Given[] = []
    if (this.#rest) {
      charges.push({ charge: this.#rest.charge })
      world.move(this.#rest.iron, this.iron, this.#rest.iron.kg)
      this.#rest = undefined
    }
    const charge = bay.weigh(FULL_KG - this.iron.kg + this.#random.normal(0, 15), this.name)
    const whole = this.#random.chance(0.93)
    const part = whole ? 1 : this.#random.between(0.8, 0.9)
    world.move(charge.iron, this.iron, charge.iron.kg * part)
    if (whole) charges.push({ charge: charge.charge })
    else {
      const kg = weighed(
        this.#random,
        charge.rawKg * part * world.bias('charge-scale', 0.005),
        5,
        0.01,
      )
      charges.push({ charge: charge.charge, kg: { value: kg, how: 'estimated' } })
      this.#rest = charge
    }
    return charges
  }

  *#preheat(charge: string): Process {
    const minutes = this.#random.whole(12, 20)
    yield minutes * MINUTE
    this.station.say('melt.charge-preheated.v1', 'charge:' + charge, {
      charge,
      celsius: Math.round(this.#random.normal(380, 25)),
      minutes,
    })
  }

  /** What is missing by the sample is added to the bath. */
  #correct(read: Chemistry, heat: string): void {
    const { yard } = this.#floor
    const { iron, station } = this
    const additions: Given[] = []
    for (const [element, material, alloyPercent] of [
      ['C', 'carburizer', 88],
      ['Si', 'ferrosilicon', 71],
      ['Mn', 'ferromanganese', 74],
    ] as const) {
      const missing = RECIPE.aim[element] - read[element]!
      const kg = (iron.kg * missing) / (alloyPercent - RECIPE.aim[element])
      if (kg < 0.3) continue
      const purpose = element === 'C' ? 'carburizing' : 'alloying'
      for (const drawn of yard.use(material, kg, iron)) {
        additions.push({ of: drawn.of, kg: weighed(this.#random, drawn.kg, 0.1), purpose })
      }
    }
    if (additions.length === 0) return
    station.say('melt.heat-alloyed.v1', 'heat:' + heat, { heat, furnace: this.name, additions })
  }

  /** Fills ladles as lines call, while there is more than the heel. */
  *#serve(closing: number): Process {
    const { world, calls, called, ladles, lab } = this.#floor
    this.serving = true
    while (this.iron.kg > HEEL_KG + TAP_KG - 60) {
      while (calls.length === 0 && world.clock.now < closing) yield called
      const line = calls.shift()
      if (!line) break
      yield about(this.#random, 2)
      const filling = ladles.tap(this, line)
      if (this.#random.chance(0.12)) {
        lab.sample(filling.iron, { heat: this.heat, of: 'ladle:' + filling.ladle })
      }
      if (this.taps === 1 && this.#random.chance(0.05)) yield* this.#alloyAgain()
    }
    this.serving = false
  }

  /** Holding takes silicon and carbon: now and then some is given after a tap. */
  *#alloyAgain(): Process {
    const { yard } = this.#floor
    const additions: Given[] = yard
      .use('ferrosilicon', this.#random.between(1.5, 3), this.iron)
      .map(({ of, kg }) => ({ of, kg: weighed(this.#random, kg, 0.1), purpose: 'alloying' }))
    yield about(this.#random, 2)
    this.station.say('melt.heat-alloyed.v1', 'heat:' + this.heat, {
      heat: this.heat,
      furnace: this.name,
      additions,
      afterTap: this.taps,
    })
  }

  *#shut(): Process {
    const { ladles } = this.#floor
    const outOf = 'furnace:' + this.name
    if (this.#manner.weighs) {
      if (this.iron.kg > 0) ladles.intoPigs(this.iron, this.iron.kg, outOf, this.station, 'drain')
      yield about(this.#random, 10)
      this.#sayEmpty('drained')
    } else if (this.iron.kg > 1.3 * HEEL_KG) {
      ladles.intoPigs(this.iron, this.iron.kg - HEEL_KG, outOf, this.station, 'pig')
    }
  }

  #sayEmpty(reason: string): void {
    const { station, name } = this
    const furnace = 'furnace:' + name
    station.say('melt.furnace-emptied.v1', furnace, { furnace: name, kgLeft: 0, reason })
  }

  #gauge(kg: number): Given {
    const { world } = this.#floor
    if (!this.#manner.weighs) {
      const value = weighed(this.#random, kg * world.bias('gauge', 0.04), 10, 0.06)
      return { value, how: 'estimated', spread: 35 }
    }
    const value = weighed(this.#random, kg * world.bias('load cells', 0.01), 5, 0.02)
    return { value, how: 'weighed', spread: 12 }
  }
}
