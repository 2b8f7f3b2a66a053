// Returns: gates fall off at the shake-out, scrap castings come from everywhere. Put together as
// lots, with a note of where they are from, they go back to the yard.
import { HOUR } from './clock.ts'
import { type Iron, ironOf } from './iron.ts'
import type { Pour } from './pouring.ts'
import { PRODUCTS, type ProductId } from './products.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import { type World, weighed } from './world.ts'
import type { Yard } from './yard.ts'

/** What a hopper or scrap box holds before it goes. */
const FULL_KG = { gates: 900, castings: 450 }
/** Sand that sticks to what comes back. */
const SAND = 1.005

/** A hopper at the end of a line, or a box for scrap. */
export class ReturnsHopper {
  readonly #world: World
  readonly #yard: Yard
  readonly #random: Random
  readonly #what: 'gates' | 'castings'
  readonly #line: string | undefined
  readonly #station: Station
  /** By the thing they came from. */
  #sources = new Map<string, number>()
  #pours = new Map<Iron, number>()
  #castings: number[] = []
  #kg = 0
  #began = 0

  constructor(world: World, yard: Yard, what: 'gates' | 'castings', line?: 'a' | 'b') {
    this.#world = world
    this.#yard = yard
    this.#what = what
    this.#line = line
    const name = line ? 'gates-' + line : 'scrap-box'
    this.#random = world.random(name)
    this.#station = world.post.station('receive/' + name, {
      entry: 'scan',
      delaySeconds: [30, 300],
    })
    for (let day = 0; day < world.days; day++) {
      world.clock.at(world.closing(day) + 1.5 * HOUR, () => this.#empty())
    }
  }

  /** Gates and spills of a mold. */
  gates(pour: Pour, kg: number): void {
    this.#add('pour:' + pour.pour, pour.iron, kg)
  }

  /** Castings that will never be pans, from a load. */
  scrap(from: string, castings: readonly number[]): void {
    for (const casting of castings) {
      const { pour, product } = this.#world.truth.castings.unitOf(casting)
      this.#add(from, this.#world.pours.get(pour)!, PRODUCTS[product as ProductId].castingKg)
      this.#castings.push(casting)
    }
    this.#world.truth.castings.put(castings, 'scrap')
  }

  #add(of: string, iron: Iron, kg: number): void {
    if (this.#kg === 0) this.#began = this.#world.clock.now
    this.#kg += kg
    this.#sources.set(of, (this.#sources.get(of) ?? 0) + kg)
    this.#pours.set(iron, (this.#pours.get(iron) ?? 0) + kg)
    if (this.#kg >= FULL_KG[this.#what]) this.#empty()
  }

  #empty(): void {
    if (this.#kg < 50) return
    const world = this.#world
    const lot = world.id(this.#what === 'gates' ? 'RG' : 'RC', this.#line, 2)
    const iron = ironOf(world.truth.metal.node('lot:' + lot))
    for (const [pour, kg] of this.#pours) world.move(pour, iron, kg)
    world.truth.castings.put(this.#castings, 'lot:' + lot)
    this.#yard.collect('lot:' + lot, iron.kg * SAND, iron)
    // From the book weight of gates and castings, not from a scale.
    const sources: Given[] = [...this.#sources].map(([of, kg]) => ({
      of,
      kg: {
        value: weighed(this.#random, kg * world.bias('book of ' + this.#what, 0.02), 1, 0.02),
        how: 'book',
      },
    }))
    this.#station.say('receive.returns-collected.v1', 'lot:' + lot, {
      lot,
      what: this.#what,
      kg: weighed(this.#random, iron.kg * SAND * world.bias('yard scale', 0.005), 2),
      sources: sources.filter((source) => (source.kg as Given).value !== 0),
      line: this.#line,
      startedAt: this.#station.time(this.#began),
      endedAt: this.#station.time(world.clock.now),
    })
    this.#sources = new Map()
    this.#pours = new Map()
    this.#castings = []
    this.#kg = 0
  }
}
