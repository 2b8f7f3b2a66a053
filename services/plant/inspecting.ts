// Inspection, after the blast and after the oven: what eyes find of what is there.

import type { Flaw } from './casting-truth.ts'
import { DAY, MINUTE } from './clock.ts'
import { found, type Load, productsOf, remove } from './load.ts'
import { draw, type Random } from './random.ts'
import type { Given, Station } from './report.ts'
import type { ReturnsHopper } from './returns.ts'
import type { World } from './world.ts'

interface Stage {
  stage: 'after-blast' | 'after-bake'
  /** Chance that an eye finds it. */
  sees: Partial<Record<Flaw, number>>
  /** Castings looked at in a sample; absent: all. */
  sample?: number
}

export class Inspection {
  readonly #world: World
  readonly #random: Random
  readonly #scrap: ReturnsHopper
  readonly #desks = new Map<string, Station>()

  constructor(world: World, scrap: ReturnsHopper) {
    this.#world = world
    this.#random = world.random('inspecting')
    this.#scrap = scrap
  }

  /** Looks at a load, takes out what is bad and reports it by product; what can be stripped comes back. */
  look(load: Load, { stage, sees, sample }: Stage): number[] {
    const world = this.#world
    const rework: number[] = []
    const thing = 'load:' + load.load
    for (const [product, castings] of productsOf(world, load.castings)) {
      const looked = sample ? draw(this.#random, [...castings], sample) : castings
      const flawed = found(world, this.#random, looked, sees)
      const defects: Given[] = []
      for (const [defect, bad] of flawed) {
        // Those to be stripped stay with their load until the strip oven says it took them.
        const strip = defect === 'sticky'
        const fate = strip ? {} : { fate: 'scrap' }
        defects.push({ defect, castings: bad.length, ...this.#cavity(bad), ...fate })
        if (strip) rework.push(...bad)
        else this.#scrap.scrap(thing, bad)
        remove(load, bad)
      }
      this.#report(load.load, stage, {
        castings: looked.length,
        presented: castings.length,
        plan: looked.length < castings.length ? 'sample' : 'all',
        defective: [...flawed.values()].reduce((sum, bad) => sum + bad.length, 0),
        product,
        defects,
      })
    }
    return rework
  }

  /** Cavities are cast in: where all the bad ones bear one, it is written down. */
  #cavity(bad: readonly number[]): { cavity?: string } {
    const cavities = new Set(
      bad.map((casting) => this.#world.truth.castings.unitOf(casting).cavity),
    )
    return bad.length > 1 && cavities.size === 1 ? { cavity: [...cavities][0]! } : {}
  }

  #report(load: string, stage: string, seen: Given): void {
    const inspection = this.#world.id('I')
    const lateMinutes = stage === 'after-bake' ? this.#lateMinutes() : 0
    const { body } = this.#desk(stage).say(
      'inspect.castings-inspected.v1',
      'inspection:' + inspection,
      {
        inspection,
        of: ['load:' + load],
        stage,
        ...seen,
        inspector: this.#random.pick(['q3', 'q7', 'q8']),
      },
      lateMinutes > 0 ? { lateMinutes, timespread: 900 } : {},
    )
    if (lateMinutes > 0 && typeof body === 'object') {
      const { source, id } = body
      const sentence = `The tally of load ${load} was typed in the next morning.`
      this.#world.truth.faults.push({ fault: 'late', source, id, sentence })
    }
  }

  /** The tally sheets of the first night, or of every night, are typed in the next morning. */
  #lateMinutes(): number {
    const { clock, start, dirty } = this.#world
    const day = dirty ? Math.max(0, Math.floor((clock.now - start) / DAY)) : 0
    if (clock.now < this.#world.closing(day) || clock.now > this.#world.opening(day + 1)) return 0
    return this.#world.until(this.#world.opening(day + 1)) / MINUTE + this.#random.between(50, 90)
  }

  #desk(stage: string): Station {
    let desk = this.#desks.get(stage)
    if (!desk) {
      desk = this.#world.post.station('inspect/' + stage, {
        entry: 'hand',
        delaySeconds: [60, 600],
      })
      this.#desks.set(stage, desk)
    }
    return desk
  }
}
