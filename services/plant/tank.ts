// Tanks and hoppers that are topped up before they run dry, so that lots mix in them.
import { MINUTE } from './clock.ts'
import { type Iron, ironOf } from './iron.ts'
import type { MaterialId } from './materials.ts'
import type { Random } from './random.ts'
import type { Station } from './report.ts'
import { type World, weighed } from './world.ts'
import type { Yard } from './yard.ts'

interface Size {
  fullKg: number
  /** Topped up when less is in it. */
  leastKg: number
}

export class Tank {
  readonly bin: string
  readonly #world: World
  readonly #yard: Yard
  readonly #material: MaterialId
  readonly #use: 'tank' | 'hopper'
  readonly #size: Size
  readonly #random: Random
  readonly #station: Station
  readonly #iron: Iron

  constructor(
    { world, yard }: { world: World; yard: Yard },
    bin: string,
    use: 'tank' | 'hopper',
    material: MaterialId,
    size: Size,
  ) {
    this.bin = bin
    this.#world = world
    this.#yard = yard
    this.#use = use
    this.#material = material
    this.#size = size
    this.#random = world.random(bin)
    this.#station = world.post.station('receive/' + bin, { entry: 'scan' })
    this.#iron = ironOf(world.truth.metal.node('bin:' + bin))
    world.clock.at(world.start - 30 * MINUTE, () => {
      this.#station.say('receive.bin-set.v1', 'bin:' + bin, { bin, kg: 0, reason: 'cleaned' })
    })
    world.clock.at(world.start - 25 * MINUTE, () => this.#fill())
  }

  /** Draws some, for a load; tops up first where little is left. */
  draw(kg: number, into: Iron): void {
    if (this.#iron.kg < this.#size.leastKg) this.#fill()
    this.#world.move(this.#iron, into, Math.min(kg, this.#iron.kg))
  }

  #fill(): void {
    const { bin } = this
    const before = this.#iron.kg
    const drawn = this.#yard.use(this.#material, this.#size.fullKg - before, this.#iron)
    this.#station.say('receive.bin-filled.v1', 'bin:' + bin, {
      bin,
      use: this.#use,
      lines: drawn.map(({ of, kg }) => ({ of, kg: weighed(this.#random, kg, 0.1) })),
      kgBefore:
        before > 0 ? { value: weighed(this.#random, before, 1, 0.04), how: 'estimated' } : 0,
      mixing: 'mixed',
    })
  }
}
