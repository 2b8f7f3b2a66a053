// The sand mill: every batch has its own id, its bond and its return sand.
import { MINUTE } from './clock.ts'
import { ironOf } from './iron.ts'
import type { Random } from './random.ts'
import type { Station } from './report.ts'
import { type World, weighed } from './world.ts'
import type { Yard } from './yard.ts'

export class SandMill {
  readonly #world: World
  readonly #yard: Yard
  readonly #random: Random
  readonly #mill: Station
  readonly #lab: Station

  constructor(world: World, yard: Yard) {
    this.#world = world
    this.#yard = yard
    this.#random = world.random('sand')
    this.#mill = world.post.station('mold/mill', { entry: 'machine', counts: true })
    this.#lab = world.post.station('inspect/sand-lab', { entry: 'hand', delaySeconds: [300, 2400] })
  }

  /** A batch for a line; its id. */
  mull(): string {
    const random = this.#random
    const sand = this.#world.id('SA')
    const used = ironOf(this.#world.truth.metal.node('sand'))
    const bond = this.#yard.use('bentonite', random.normal(14, 1), used)
    const fresh = this.#yard.use('silica sand', random.normal(38, 3), used)
    const moisturePercent = Number(random.normal(3.2, 0.12).toFixed(2))
    this.#mill.say('mold.sand-mulled.v1', 'sand:' + sand, {
      sand,
      lines: [...bond, ...fresh].map(({ of, kg }) => ({ of, kg: weighed(random, kg, 0.5) })),
      returnSandKg: Math.round(random.normal(1750, 40)),
      returnFrom: 'bin:return-sand',
      moisturePercent,
      compactabilityPercent: Math.round(random.normal(40, 1.4)),
      greenStrengthKPa: random.chance(0.3) ? Math.round(random.normal(172, 9)) : undefined,
      celsius: Math.round(random.normal(38, 3)),
    })
    if (random.chance(0.25)) this.#test(sand, moisturePercent)
    return sand
  }

  #test(sand: string, moisturePercent: number): void {
    const random = this.#random
    const taken = this.#world.clock.now - 2 * MINUTE
    this.#lab.say('inspect.reading-taken.v1', 'sand:' + sand, {
      of: 'sand:' + sand,
      station: 'mold',
      machine: 'mill',
      takenAt: this.#lab.time(taken),
      readings: [
        {
          quantity: 'moisture',
          value: Number(random.normal(moisturePercent, 0.1).toFixed(2)),
          unit: 'P1',
          method: 'drying lamp',
        },
        {
          quantity: 'loss on ignition',
          value: Number(random.normal(4.1, 0.2).toFixed(1)),
          unit: 'P1',
        },
        // In pounds per square inch, as the old gauge shows it.
        { quantity: 'green strength', value: Math.round(random.normal(25, 1.2)), unit: 'PSI' },
      ],
    })
  }
}
