// Ladles: filled from a furnace, treated, slagged, sent to a line; and what is left in them after.
import { MINUTE, type Rack } from './clock.ts'
import { type Iron, ironOf } from './iron.ts'
import type { Random } from './random.ts'
import type { Station } from './report.ts'
import { type World, weighed } from './world.ts'
import type { Yard } from './yard.ts'

/** One filling of a ladle. */
export interface Filling {
  ladle: string
  steel: Steel
  iron: Iron
  heat: string
  furnace: string
  /** When it was filled, and how hot it was then. */
  tapped: number
  celsius: number
}

/** The ladle itself, and the filling of which it still holds a little. */
export interface Steel {
  no: string
  rest: Filling | undefined
}

/** A furnace that a tap comes from, as far as a ladle is concerned. */
export interface Spout {
  name: string
  station: Station
  iron: Iron
  heat: string
  taps: number
}

const FILL_KG = 500

export class Ladles {
  readonly #world: World
  readonly #yard: Yard
  readonly #random: Random
  readonly #bay: Station
  readonly #free: Steel[] = ['K1', 'K2', 'K3', 'K4', 'K5', 'K6', 'K7'].map((no) => ({
    no,
    rest: undefined,
  }))
  readonly #fresh = new Set(this.#free)
  #pigs: { lot: string; iron: Iron } | undefined

  constructor(world: World, yard: Yard) {
    this.#world = world
    this.#yard = yard
    this.#random = world.random('ladles')
    this.#bay = world.post.station('melt/ladle-bay', { entry: 'scan', delaySeconds: [5, 60] })
  }

  /** Fills a ladle, treats it and sends it off. */
  tap(spout: Spout, to: Rack<Filling>): Filling {
    const world = this.#world
    const steel = this.#free.shift()!
    const ladle = world.id('L')
    const iron = ironOf(world.truth.metal.node('ladle:' + ladle))
    const { rest } = steel
    if (rest) world.move(rest.iron, iron, rest.iron.kg)
    const heelKg = iron.kg
    const tappedKg = Math.min(this.#random.normal(FILL_KG, 8), spout.iron.kg)
    world.move(spout.iron, iron, tappedKg)
    const celsius = this.#random.normal(1478, 9)
    const filling: Filling = {
      ladle,
      steel,
      iron,
      heat: spout.heat,
      furnace: spout.name,
      tapped: world.clock.now,
      celsius,
    }
    spout.taps++
    const said = this.#fresh.delete(steel) || heelKg === 0 || this.#random.chance(0.85)
    spout.station.say('melt.heat-tapped.v1', 'ladle:' + ladle, {
      heat: spout.heat,
      furnace: spout.name,
      ladle,
      ladleNo: steel.no,
      tap: spout.taps,
      kg: weighed(this.#random, tappedKg * world.bias('crane-1', 0.006)),
      celsius: Math.round(celsius),
      ladleHeelKg: said ? guessed(this.#random, heelKg) : undefined,
      scale: 'crane-1',
    })
    this.#treat(filling)
    if (this.#random.chance(0.02)) this.#spill(filling)
    world.clock.at(world.clock.now + this.#random.between(3.5, 5) * MINUTE, () => to.put(filling))
    return filling
  }

  /** The line is done with it: a little stays, or it is turned out into the pig bed. */
  done(filling: Filling): void {
    const { steel, iron } = filling
    steel.rest = iron.kg > 0 ? filling : undefined
    if (steel.rest && this.#random.chance(0.3)) this.pig(filling)
    this.#free.push(steel)
  }

  /** All of it goes into the pig bed, and from there into the yard. */
  pig(filling: Filling): void {
    const { iron, ladle, steel } = filling
    this.intoPigs(iron, iron.kg, 'ladle:' + ladle, this.#bay, 'pig')
    steel.rest = undefined
  }

  /** Metal of a ladle or furnace becomes pigs of the day. */
  intoPigs(from: Iron, kg: number, outOf: string, station: Station, reason: 'pig' | 'drain'): void {
    const world = this.#world
    if (!this.#pigs) {
      const lot = world.id('PG', '', 1)
      this.#pigs = { lot, iron: ironOf(world.truth.metal.node('lot:' + lot)) }
    }
    const { lot, iron } = this.#pigs
    world.move(from, iron, kg)
    station.say('melt.metal-moved.v1', outOf, {
      outOf,
      into: 'lot:' + lot,
      kg:
        kg < 60
          ? guessed(this.#random, kg)
          : weighed(this.#random, kg * world.bias('crane-1', 0.006), 5, 0.01),
      reason,
    })
  }

  /** In the evening the pig bed is broken up and goes to the yard. */
  breakUp(): void {
    if (!this.#pigs) return
    const { lot, iron } = this.#pigs
    this.#yard.collect('lot:' + lot, iron.kg, iron)
    this.#pigs = undefined
  }

  /** A little goes over the lip on the way. */
  #spill({ iron, ladle }: Filling): void {
    const { clock, truth } = this.#world
    clock.at(clock.now + 2 * MINUTE, () => {
      const kg = this.#random.between(6, 18)
      this.#world.move(iron, ironOf(truth.metal.node('floor')), kg)
      this.#bay.say('melt.metal-moved.v1', 'ladle:' + ladle, {
        outOf: 'ladle:' + ladle,
        into: 'floor',
        kg: guessed(this.#random, kg),
        reason: 'spill',
      })
    })
  }

  /** Inoculant into the stream, coagulant on the bath, the slag off. */
  #treat(filling: Filling): void {
    const { clock } = this.#world
    const subject = 'ladle:' + filling.ladle
    const inoculant = this.#random.between(1.1, 1.35)
    const additions = this.#yard.use('inoculant', inoculant, filling.iron).map(({ of, kg }) => ({
      of,
      kg: Number(kg.toFixed(2)),
      purpose: 'inoculation',
    }))
    this.#bay.say('melt.ladle-treated.v1', subject, { ladle: filling.ladle, additions })
    clock.at(clock.now + MINUTE, () => this.#slag(filling, subject))
  }

  #slag(filling: Filling, subject: string): void {
    const { ladle } = filling
    const slag = ironOf(this.#world.truth.metal.node('slag'))
    const [coagulant] = this.#yard.use('slag coagulant', this.#random.between(0.8, 1.2), slag)
    const kg = Number(coagulant!.kg.toFixed(1))
    const additions = [{ of: coagulant!.of, kg, purpose: 'slag-coagulation' }]
    this.#bay.say('melt.ladle-treated.v1', subject, { ladle, additions })
    const passes = this.#random.chance(0.35) ? 2 : 1
    for (let pass = 1; pass <= passes; pass++) {
      this.#world.clock.at(this.#world.clock.now + pass * MINUTE, () =>
        this.#bay.say('melt.ladle-slagged.v1', subject, { ladle, pass }),
      )
    }
  }
}

/** Nobody weighs what sticks in a ladle: it is said to five kilograms. */
function guessed(random: Random, kg: number): { value: number; how: string } | 0 {
  if (kg === 0) return 0
  return { value: Math.max(1, Math.round((kg * random.normal(1, 0.15)) / 5) * 5), how: 'estimated' }
}
