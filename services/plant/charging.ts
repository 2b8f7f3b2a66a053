// The charge bay: what a furnace is to melt, weighed together after the recipe in force.
import { DAY, MINUTE } from './clock.ts'
import { type Iron, ironOf } from './iron.ts'
import { type MaterialId, RECIPE } from './materials.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import { type World, weighed } from './world.ts'
import type { Yard } from './yard.ts'

export interface Charge {
  charge: string
  /** Unit: kg, dross and all. */
  rawKg: number
  iron: Iron
}

/** The new revision holds from before the first charge of the second day. */
const NEXT_REVISION = DAY - 90 * MINUTE

export class ChargeBay {
  readonly #world: World
  readonly #yard: Yard
  readonly #random: Random
  readonly #scale: Station
  readonly #office: Station

  constructor(world: World, yard: Yard) {
    this.#world = world
    this.#yard = yard
    this.#random = world.random('charging')
    this.#scale = world.post.station('melt/charge-scale', { entry: 'machine', counts: true })
    this.#office = world.post.station('melt/office', { entry: 'hand' })
  }

  start(): void {
    const { clock, start, days } = this.#world
    this.#issue(0)
    if (days > 1) clock.at(start + NEXT_REVISION - MINUTE, () => this.#issue(1))
  }

  weigh(kg: number, furnace: string): Charge {
    const world = this.#world
    const charge = world.id('C', furnace, 2)
    const iron = ironOf(world.truth.metal.node('charge:' + charge))
    const revision = this.#revision()
    const lines: Given[] = []
    let rawKg = 0
    for (const [material, percent] of Object.entries(RECIPE.lines[revision])) {
      const targetKg = (kg * percent) / 100
      // The magnet drops what it drops; bags are weighed out.
      const taken = targetKg * this.#random.normal(1, targetKg > 50 ? 0.03 : 0.005)
      rawKg += taken
      const step = targetKg > 50 ? 1 : 0.1
      const drawn = this.#yard.use(material as MaterialId | 'returns', taken, iron)
      for (const { of, kg: drawnKg } of drawn) {
        const said = weighed(this.#random, drawnKg * world.bias('charge-scale', 0.005), step)
        const whole = drawn.length === 1 && { targetKg: Math.round(targetKg / step) * step }
        if (said > 0) lines.push({ of, kg: said, ...whole, scale: 'charge-scale' })
      }
    }
    this.#scale.say('melt.charge-weighed.v1', 'charge:' + charge, {
      charge,
      recipe: { id: RECIPE.id, revision: RECIPE.revisions[revision] },
      lines,
    })
    return { charge, rawKg, iron }
  }

  #revision(): 0 | 1 {
    return this.#world.clock.now < this.#world.start + NEXT_REVISION ? 0 : 1
  }

  #issue(revision: 0 | 1): void {
    const lines = Object.entries(RECIPE.lines[revision])
    this.#office.say('melt.recipe-issued.v1', 'recipe:' + RECIPE.id, {
      recipe: { id: RECIPE.id, revision: RECIPE.revisions[revision] },
      lines: lines.map(([material, percent]) => ({ material, percent })),
      aim: { ...RECIPE.aim },
    })
  }
}
