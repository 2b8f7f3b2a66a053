// The shake-out at the end of each line: castings go into totes as loads, gates into the hopper.

import type { Rack } from './clock.ts'
import { type Load, onlyProduct, productsOf, type Removed, remove, removedLines } from './load.ts'
import type { Mold, Pour } from './pouring.ts'
import { type Plate, PRODUCTS } from './products.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import type { ReturnsHopper } from './returns.ts'
import type { World } from './world.ts'

export class ShakeOut {
  readonly #world: World
  readonly #random: Random
  readonly #line: 'a' | 'b'
  readonly #station: Station
  readonly #gates: ReturnsHopper
  readonly #scrap: ReturnsHopper
  readonly #next: Rack<Load>
  /** The load being filled. */
  #castings: number[] = []
  #size = 0
  #plate = ''
  #began = 0

  constructor(
    world: World,
    line: 'a' | 'b',
    hoppers: { gates: ReturnsHopper; scrap: ReturnsHopper },
    next: Rack<Load>,
  ) {
    this.#world = world
    this.#random = world.random('shake-out ' + line)
    this.#line = line
    this.#station = world.post.station('clean/shake-out-' + line, {
      entry: 'scan',
      offSeconds: line === 'a' ? 5 : -30,
    })
    this.#gates = hoppers.gates
    this.#scrap = hoppers.scrap
    this.#next = next
  }

  /** A mold comes to the end of the belt. */
  take(mold: Mold): void {
    const { poured, plate } = mold
    if (this.#castings.length >= this.#size || this.#plate !== plate.pattern) this.#close()
    if (!poured) return
    if (this.#castings.length === 0) {
      this.#began = this.#world.clock.now
      this.#size = this.#random.whole(78, 104)
      this.#plate = plate.pattern
    }
    let kg = 0
    for (const { unit, cavity } of whole(mold)) {
      kg += PRODUCTS[cavity.product].castingKg
      this.#castings.push(this.#cast(unit, cavity.cavity, poured.pour, poured.celsius))
    }
    this.#gates.gates(poured.pour, poured.kg - kg)
  }

  /** Molds that nobody shakes out any more: what is in them was cast all the same. */
  leave(molds: readonly Mold[]): void {
    for (const mold of molds) {
      for (const { unit } of whole(mold)) this.#world.truth.castings.cast(unit)
    }
  }

  /** What the metal, its heat and its mold made of one casting. */
  #cast(unit: number, cavity: string, pour: Pour, celsius: number): number {
    const { truth } = this.#world
    const random = this.#random
    const casting = truth.castings.cast(unit)
    const cold = Math.max(0, 1385 - celsius)
    const { base, slope } = truth.cause ?? { base: 0.008, slope: 0 }
    if (random.chance(0.004 + cold / 900)) truth.castings.spoil(casting, 'misrun')
    if (random.chance(base + slope * pour.dose)) truth.castings.spoil(casting, 'pinhole')
    if (random.chance(cavity === '3' ? 0.02 : 0.008))
      truth.castings.spoil(casting, 'sand-inclusion')
    return casting
  }

  #close(): void {
    const castings = this.#castings
    if (castings.length === 0) return
    const { truth, clock } = this.#world
    this.#castings = []
    const load = this.#world.id('SH', this.#line)
    const thing = 'load:' + load
    truth.castings.handle(castings, thing)
    const made: Load = { load, line: this.#line, castings, since: clock.now }
    const misrun = castings.filter(
      (c) => truth.castings.has(c, 'misrun') && this.#random.chance(0.6),
    )
    const removed: Removed[] = [{ castings: misrun, fate: 'scrap', defect: 'misrun' }]
    remove(made, misrun)
    this.#scrap.scrap(thing, misrun)
    this.#station.say('clean.castings-shaken-out.v1', thing, {
      load,
      line: this.#line,
      sources: this.#sources(castings),
      product: onlyProduct(this.#world, castings),
      castings: made.castings.length,
      castingsIn: castings.length,
      removed: misrun.length > 0 ? removedLines(this.#world, removed) : undefined,
      startedAt: this.#station.time(this.#began),
      endedAt: this.#station.time(clock.now),
    })
    this.#next.put(made)
  }

  #sources(castings: readonly number[]): Given[] {
    const pours = new Map<string, number[]>()
    for (const casting of castings) {
      const { pour } = this.#world.truth.castings.unitOf(casting)
      const same = pours.get(pour)
      if (same) same.push(casting)
      else pours.set(pour, [casting])
    }
    return [...pours].flatMap(([pour, some]) =>
      [...productsOf(this.#world, some)].map(([product, alike]) => ({
        of: 'pour:' + pour,
        castings: alike.length,
        product,
      })),
    )
  }
}

/** Cavities of a mold that hold a casting, with the unit each belongs to. */
function* whole({ poured, plate, fate }: Mold): Iterable<{
  unit: number
  cavity: Plate['cavities'][number]
}> {
  for (const [i, unit] of (poured?.pour.units ?? []).entries()) {
    const lost = fate !== undefined && poured!.kept !== i
    if (unit !== undefined && !lost) yield { unit, cavity: plate.cavities[i]! }
  }
}
