// The melt shop: two furnaces, the ladles that go to the lines and what comes back from them.
import { ChargeBay } from './charging.ts'
import { Bell, HOUR, MINUTE, type Process, type Rack } from './clock.ts'
import { type Floor, FULL_KG, Furnace } from './furnace.ts'
import { Lab } from './lab.ts'
import { type Filling, Ladles } from './ladles.ts'
import type { Random } from './random.ts'
import { type World, weighed } from './world.ts'
import type { Yard } from './yard.ts'

/** Less than this is not worth carrying back. */
const WORTH_KG = 60

export class MeltShop {
  readonly #floor: Floor
  readonly #furnaces: readonly [Furnace, Furnace]
  readonly #random: Random

  constructor(world: World, yard: Yard) {
    this.#random = world.random('melting')
    this.#floor = {
      world,
      yard,
      bay: new ChargeBay(world, yard),
      lab: new Lab(world),
      ladles: new Ladles(world, yard),
      calls: [],
      called: new Bell(),
    }
    this.#furnaces = [
      new Furnace('f1', this.#floor, {
        offSeconds: 40,
        offSecondsPerHour: 5,
        weighs: false,
        reason: 'relined',
      }),
      new Furnace('f2', this.#floor, {
        offSeconds: -25,
        offSecondsPerHour: -3,
        weighs: true,
        reason: 'cold',
      }),
    ]
  }

  start(): void {
    const { world, bay, called, ladles } = this.#floor
    bay.start()
    for (const furnace of this.#furnaces) world.clock.start(furnace.work())
    for (let day = 0; day < world.days; day++) {
      // Whoever waits for a call in the evening waits in vain.
      world.clock.at(world.closing(day), () => called.ring())
      world.clock.at(world.closing(day) + HOUR, () => ladles.breakUp())
      world.clock.start(this.#transfer(world.opening(day) + 7 * HOUR))
    }
  }

  /** A line wants a ladle. */
  call(line: Rack<Filling>): void {
    this.#floor.calls.push(line)
    this.#floor.called.ring()
  }

  /** In the evening a line wants no more. */
  cancel(line: Rack<Filling>): void {
    const { calls } = this.#floor
    for (let at = calls.indexOf(line); at >= 0; at = calls.indexOf(line)) calls.splice(at, 1)
  }

  /** A line has poured what it could of a ladle. */
  done(filling: Filling): void {
    this.#floor.ladles.done(filling)
  }

  /** What a line could not pour goes back into a furnace that can take it, or into the pig bed. */
  giveBack(filling: Filling): void {
    const { world, ladles } = this.#floor
    const { kg } = filling.iron
    const furnace = this.#furnaces.find((f) => f.serving && f.iron.kg + kg < FULL_KG)
    if (!furnace || kg < WORTH_KG) ladles.pig(filling)
    else {
      const { heat, name, station, taps } = furnace
      world.move(filling.iron, furnace.iron, kg)
      station.say('melt.metal-moved.v1', 'ladle:' + filling.ladle, {
        outOf: 'ladle:' + filling.ladle,
        into: 'furnace:' + name,
        heat,
        afterTap: taps,
        kg: weighed(this.#random, kg * world.bias('crane-1', 0.006), 5, 0.01),
        reason: 'return',
      })
    }
    ladles.done(filling)
  }

  /** Once a day one furnace helps the other out. */
  *#transfer(at: number): Process {
    const { world } = this.#floor
    const [from, into] = this.#furnaces
    yield world.until(at)
    for (let tries = 0; tries < 40; tries++) {
      yield 5 * MINUTE
      if (!from.serving || !into.serving || from.iron.kg < 1200 || into.iron.kg > 1300) continue
      const kg = this.#random.between(140, 180)
      world.move(from.iron, into.iron, kg)
      into.station.say('melt.metal-moved.v1', 'furnace:' + from.name, {
        outOf: 'furnace:' + from.name,
        into: 'furnace:' + into.name,
        heat: into.heat,
        afterTap: into.taps,
        kg: weighed(this.#random, kg * world.bias('crane-1', 0.006), 5, 0.01),
        reason: 'transfer',
      })
      return
    }
  }
}
