// A bay as it lies: trucks dump on top of what is there, the magnet takes from the face. Nothing mixes
// it, so what is drawn is of a few layers, and which ones nobody writes down.
import type { Iron } from './iron.ts'
import type { Random } from './random.ts'
import type { World } from './world.ts'

interface Layer {
  iron: Iron
  /** Unit: kg, dross and all. */
  rawKg: number
  /** Metal in one kg of it. */
  metal: number
}

const STRIPS = 8
/** Strips at the back that one truck falls over. */
const FALL = 3
/** One lift of the magnet. Unit: kg. */
const LIFT = [60, 130] as const

export class Bay {
  readonly #world: World
  readonly #random: Random
  /** Front first; each from the floor up. */
  readonly #strips: Layer[][] = Array.from({ length: STRIPS }, () => [])

  constructor(world: World, name: string) {
    this.#world = world
    this.#random = world.random(name)
  }

  get rawKg(): number {
    return this.#strips.flat().reduce((sum, layer) => sum + layer.rawKg, 0)
  }

  /** A truck falls over the strips at the back. */
  dump(iron: Iron, rawKg: number): void {
    const metal = iron.kg / rawKg
    const parts = Array.from({ length: FALL }, () => this.#random.between(0.5, 1.5))
    const all = parts.reduce((sum, part) => sum + part, 0)
    parts.forEach((part, i) => {
      this.#strips[STRIPS - 1 - i]!.push({ iron, rawKg: (rawKg * part) / all, metal })
    })
  }

  /** Lifts from the face until enough is taken; less where the bay runs out. */
  draw(kg: number, into: Iron): number {
    let taken = 0
    while (taken < kg - 1e-9) {
      const layer = this.#face()
      if (!layer) break
      const lift = Math.min(kg - taken, this.#random.between(...LIFT), layer.rawKg)
      this.#world.move(layer.iron, into, Math.min(lift * layer.metal, layer.iron.kg))
      layer.rawKg -= lift
      taken += lift
    }
    return taken
  }

  /** Mostly the top of the first strip; the face slides, so now and then what lies lower or behind. */
  #face(): Layer | undefined {
    for (const strip of this.#strips) {
      const held = strip.filter(({ rawKg }) => rawKg > 1e-6)
      strip.splice(0, strip.length, ...held)
    }
    // What has been cleared is filled again from behind.
    for (let i = 0; i < STRIPS - FALL && this.#strips[0]!.length === 0; i++) {
      this.#strips.push(this.#strips.shift()!)
    }
    const filled = this.#strips.filter((strip) => strip.length > 0)
    const strip = filled[this.#random.chance(0.25) ? 1 : 0] ?? filled[0]
    if (!strip) return undefined
    return this.#random.chance(0.65) ? strip.at(-1) : this.#random.pick(strip)
  }
}
