// Packing: a pack is filled from one oven load after another, and bears the marks of all of them.
import { MINUTE, type Process, Rack } from './clock.ts'
import { ironOf } from './iron.ts'
import { type Load, productsOf } from './load.ts'
import { PRODUCTS, type Product, type ProductId } from './products.ts'
import { draw, type Random } from './random.ts'
import type { Given, Station } from './report.ts'
import { about, type World } from './world.ts'
import type { Yard } from './yard.ts'

const AFTER_MINUTES = 120
/** A Dutch oven and its lid are packed together. */
const TOGETHER: Partial<Record<ProductId, ProductId>> = { 'dorrin-5': 'dorrin-5-lid' }
const LIDS = new Set<ProductId>(Object.values(TOGETHER))

/** Castings of one product that wait, as they came from one oven load. */
interface Waiting {
  load: string
  castings: number[]
}

export interface Pack {
  pack: string
  marks: string[]
  lines: { product: ProductId; castings: number[] }[]
}

export class Packing {
  /** Packs in stock, oldest first. */
  readonly stock: Pack[] = []
  readonly #loads = new Rack<Load>()
  readonly #waiting = new Map<ProductId, Waiting[]>()
  readonly #sizes = new Map<ProductId, number>()
  readonly #world: World
  readonly #yard: Yard
  readonly #random: Random
  readonly #bench: Station
  #serial = 20_000

  constructor(world: World, yard: Yard) {
    this.#world = world
    this.#yard = yard
    this.#random = world.random('packing')
    this.#bench = world.post.station('ship/packing-1', { entry: 'scan', delaySeconds: [10, 120] })
  }

  take(load: Load): void {
    this.#loads.put(load)
  }

  *work(): Process {
    for (;;) {
      yield* this.#world.shift(AFTER_MINUTES)
      const load = this.#loads.things.shift()
      if (!load) {
        yield this.#loads.bell
        continue
      }
      yield this.#random.between(4, 9) * MINUTE
      for (const [product, castings] of productsOf(this.#world, load.castings)) {
        this.#queue(product).push({ load: load.load, castings })
      }
      for (const product of Object.keys(PRODUCTS) as ProductId[]) {
        while (!LIDS.has(product) && this.#enough(product)) {
          yield about(this.#random, 3.5)
          this.#pack(product)
        }
      }
    }
  }

  #queue(product: ProductId): Waiting[] {
    let queue = this.#waiting.get(product)
    if (!queue) {
      queue = []
      this.#waiting.set(product, queue)
    }
    return queue
  }

  #size(product: ProductId): number {
    let size = this.#sizes.get(product)
    if (size === undefined) {
      size = this.#random.pick<number>(PRODUCTS[product].packOf)
      this.#sizes.set(product, size)
    }
    return size
  }

  #enough(product: ProductId): boolean {
    const held = (one: ProductId) => this.#queue(one).reduce((sum, w) => sum + w.castings.length, 0)
    const lid = TOGETHER[product]
    return held(product) >= this.#size(product) && (!lid || held(lid) >= this.#size(lid))
  }

  #pack(product: ProductId): void {
    const { truth } = this.#world
    const pack = this.#world.id('PK')
    const thing = 'pack:' + pack
    const lid = TOGETHER[product]
    const marks = new Set<string>()
    const lines: Pack['lines'] = []
    const said: Given[] = []
    for (const one of lid ? [product, lid] : [product]) {
      const { castings, sources } = this.#fill(one, marks)
      truth.castings.put(castings, thing)
      lines.push({ product: one, castings })
      said.push({ product: one, sources, castings: castings.length })
    }
    const { serial }: Product = PRODUCTS[product]
    const cartons = this.#yard.use(
      'cartons',
      this.#random.between(4, 7),
      ironOf(truth.metal.node('paper')),
    )
    this.#bench.say('ship.pans-packed.v1', thing, {
      pack,
      marks: [...marks],
      lines: said,
      serials: serial ? this.#serials(lines[0]!.castings) : undefined,
      materials: cartons.slice(0, 1).map(({ of, kg }) => ({
        of,
        kg: Number(kg.toFixed(1)),
        purpose: 'carton',
      })),
      spot: `R${this.#random.whole(1, 6)}-${this.#random.whole(1, 40)}`,
    })
    truth.packs.set(pack, { pack, marks: [...marks] })
    this.stock.push({ pack, marks: [...marks], lines })
  }

  /** Takes one product for a pack, without looking, and notes the marks of the oven loads. */
  #fill(product: ProductId, marks: Set<string>): { castings: number[]; sources: Given[] } {
    const size = this.#size(product)
    this.#sizes.delete(product)
    const queue = this.#queue(product)
    const castings: number[] = []
    const sources: Given[] = []
    while (castings.length < size) {
      const waiting = queue[0]!
      const taken = draw(this.#random, waiting.castings, size - castings.length)
      castings.push(...taken)
      sources.push({ of: 'load:' + waiting.load, castings: taken.length })
      // Such as K26-0412-B7: product, day and run of the oven.
      marks.add(`${PRODUCTS[product].code}-${waiting.load.slice(2)}`)
      if (waiting.castings.length === 0) queue.shift()
    }
    return { castings, sources }
  }

  /** A counter cast into the piece tells its pour, where it can be read. */
  #serials(castings: readonly number[]): Given[] {
    const { truth } = this.#world
    return castings.map((casting) => {
      const pan = `G28-${String(++this.#serial).padStart(6, '0')}`
      truth.pans.set(pan, casting)
      const { pour } = truth.castings.unitOf(casting)
      return this.#random.chance(0.7) ? { pan, of: 'pour:' + pour } : { pan }
    })
  }
}
