// Cleaning: tumbled, blasted and looked at, sorted where products are mixed, ground, washed, dried.
// Loads of line a keep their id from step to step; those of line b are put together in the drum.
import { MINUTE, type Process, Rack } from './clock.ts'
import type { Inspection } from './inspecting.ts'
import { ironOf } from './iron.ts'
import {
  type Load,
  nextLoad,
  onlyProduct,
  productsOf,
  type Removed,
  remove,
  stepFields,
} from './load.ts'
import type { ProductId } from './products.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import type { ReturnsHopper } from './returns.ts'
import { Tank } from './tank.ts'
import type { Totes } from './totes.ts'
import { about, type World } from './world.ts'
import type { Yard } from './yard.ts'

/** How long the cleaning room works on after the lines close. */
const AFTER_MINUTES = 75
/** What an eye finds after the blast. */
const SEES = { misrun: 0.9, pinhole: 0.75, 'sand-inclusion': 0.85 } as const

export interface Room {
  world: World
  yard: Yard
  inspection: Inspection
  scrap: ReturnsHopper
  totes: Totes
}

export class Cleaning {
  readonly shaken = new Rack<Load>()
  /** Where what has to be blasted again comes in as well. */
  readonly tumbled = new Rack<Load>()
  /** Dried and not in totes: waits for oil. */
  readonly dried = new Rack<Load>()
  readonly #blasted = new Rack<Load>()
  readonly #sorted = new Rack<Load>()
  readonly #ground = new Rack<Load>()
  readonly #washed = new Rack<Load>()
  readonly #room: Room
  readonly #random: Random
  /** To be blasted again, by product. */
  readonly #rework = new Map<ProductId, Load>()

  constructor(room: Room) {
    this.#room = room
    this.#random = room.world.random('cleaning')
  }

  start(): void {
    const { clock } = this.#room.world
    for (const machine of ['drum-1', 'drum-2', 'drum-3']) clock.start(this.#tumble(machine))
    for (const machine of ['blast-1', 'blast-2', 'blast-3']) clock.start(this.#blast(machine))
    for (const machine of ['grind-1', 'grind-2', 'grind-3', 'grind-4']) {
      clock.start(this.#grind(machine))
    }
    clock.start(this.#sort())
    for (const machine of ['wash-1', 'wash-2']) clock.start(this.#wash(machine))
    for (const machine of ['dry-1', 'dry-2', 'dry-3']) clock.start(this.#dry(machine))
    for (let day = 0; day < this.#room.world.days; day++) {
      clock.at(this.#room.world.closing(day) - 90 * MINUTE, () => this.#sendRework())
    }
  }

  *#tumble(machine: string): Process {
    const { world } = this.#room
    const station = this.#station(machine)
    for (;;) {
      const first = yield* this.#next(this.shaken)
      const second = first.line === 'b' ? this.#mate(first) : undefined
      const began = world.clock.now
      yield about(this.#random, 17)
      const load = second ? this.#together(first, second) : first
      world.truth.castings.handle(load.castings, 'load:' + load.load)
      const castingsIn = load.castings.length
      const sources = second && [first, second].map((part) => this.#source(part))
      const step = { machine, began, castingsIn, sources }
      station.say(
        'clean.load-tumbled.v1',
        'load:' + load.load,
        stepFields(world, station, load, step),
      )
      this.#pass(load, this.tumbled)
    }
  }

  *#blast(machine: string): Process {
    const { world, inspection } = this.#room
    const station = this.#station(machine)
    const size = { fullKg: 260, leastKg: 120 }
    const shot = new Tank(this.#room, machine.replace('blast', 'shot'), 'hopper', 'S230 shot', size)
    for (;;) {
      const load = yield* this.#next(this.tumbled)
      const began = world.clock.now
      yield about(this.#random, 11)
      const kg = Number((load.castings.length * this.#random.between(0.004, 0.007)).toFixed(2))
      shot.draw(kg, ironOf(world.truth.metal.node('dust')))
      world.truth.castings.handle(load.castings, 'load:' + load.load)
      for (const casting of load.castings) {
        if (this.#random.chance(0.003)) world.truth.castings.spoil(casting, 'crack')
      }
      station.say('clean.load-blasted.v1', 'load:' + load.load, {
        ...stepFields(world, station, load, { machine, began, castingsIn: load.castings.length }),
        materials: [{ of: 'bin:' + shot.bin, kg, purpose: 'shot' }],
      })
      yield about(this.#random, 3)
      const sample = this.#random.chance(0.3) ? { sample: 32 } : {}
      inspection.look(load, { stage: 'after-blast', sees: SEES, ...sample })
      this.#pass(load, onlyProduct(world, load.castings) ? this.#sorted : this.#blasted)
    }
  }

  /** One load for each product. */
  *#sort(): Process {
    const { world } = this.#room
    const machine = 'sort-1'
    const station = this.#station(machine)
    for (;;) {
      const mixed = yield* this.#next(this.#blasted)
      const began = world.clock.now
      yield about(this.#random, 6)
      for (const [product, castings] of productsOf(world, mixed.castings)) {
        const load = this.#made('SO', castings, mixed.line)
        world.truth.castings.handle(castings, 'load:' + load.load)
        const sources = [{ of: 'load:' + mixed.load, castings: castings.length, product }]
        station.say('clean.load-sorted.v1', 'load:' + load.load, {
          ...stepFields(world, station, load, { machine, began, sources }),
          reason: 'product',
        })
        this.#pass(load, this.#sorted)
      }
    }
  }

  *#grind(machine: string): Process {
    const { world, scrap } = this.#room
    const station = this.#station(machine)
    for (;;) {
      const load = yield* this.#next(this.#sorted)
      const began = world.clock.now
      yield about(this.#random, 20)
      const thing = 'load:' + load.load
      world.truth.castings.handle(load.castings, thing)
      const castingsIn = load.castings.length
      const cracked = load.castings.filter((c) => world.truth.castings.has(c, 'crack'))
      const rough = load.load.startsWith('RW')
        ? []
        : load.castings.filter((c) => !cracked.includes(c) && this.#random.chance(0.006))
      remove(load, cracked)
      remove(load, rough)
      const removed: Removed[] = [{ castings: cracked, fate: 'scrap', defect: 'crack' }]
      for (const [product, castings] of productsOf(world, rough)) {
        removed.push({ castings, fate: 'rework', into: this.#again(product, castings, load.line) })
      }
      station.say(
        'clean.load-ground.v1',
        thing,
        stepFields(world, station, load, { machine, began, castingsIn, removed }),
      )
      scrap.scrap(thing, cracked)
      this.#pass(load, this.#ground)
    }
  }

  *#wash(machine: string): Process {
    const { world } = this.#room
    const station = this.#station(machine)
    for (;;) {
      const load = yield* this.#next(this.#ground)
      const began = world.clock.now
      yield about(this.#random, 7)
      world.truth.castings.handle(load.castings, 'load:' + load.load)
      station.say(
        'clean.load-washed.v1',
        'load:' + load.load,
        stepFields(world, station, load, { machine, began }),
      )
      this.#pass(load, this.#washed)
    }
  }

  /** What came by line a goes into totes; the rest stays together. */
  *#dry(machine: string): Process {
    const { world, totes } = this.#room
    const station = this.#station(machine)
    for (;;) {
      const load = yield* this.#next(this.#washed)
      const began = world.clock.now
      yield about(this.#random, 13)
      const thing = 'load:' + load.load
      world.truth.castings.handle(load.castings, thing)
      const product = onlyProduct(world, load.castings)
      const tote = product && load.line === 'a' ? totes.stow(product, load.castings) : undefined
      station.say('clean.load-dried.v1', thing, {
        ...stepFields(world, station, load, { machine, began, castingsIn: load.castings.length }),
        tote,
      })
      if (!tote) this.#pass(load, this.dried)
    }
  }

  #station(machine: string): Station {
    return this.#room.world.post.station('clean/' + machine, {
      entry: 'scan',
      delaySeconds: [5, 90],
    })
  }

  #next(rack: Rack<Load>): ReturnType<typeof nextLoad> {
    return nextLoad(this.#room.world, this.#random, rack, AFTER_MINUTES)
  }

  /** Another load of the same line and products that waits as well. */
  #mate(first: Load): Load | undefined {
    const { world } = this.#room
    const key = (load: Load) => [...productsOf(world, load.castings).keys()].sort().join()
    const { things } = this.shaken
    const at = things.findIndex((load) => load.line === 'b' && key(load) === key(first))
    return at < 0 ? undefined : things.splice(at, 1)[0]
  }

  #together(first: Load, second: Load): Load {
    return this.#made('TB', [...first.castings, ...second.castings], first.line)
  }

  #made(prefix: string, castings: number[], line: 'a' | 'b'): Load {
    const { world } = this.#room
    return { load: world.id(prefix), line, castings, since: world.clock.now }
  }

  #source({ load, castings }: Load): Given {
    return { of: 'load:' + load, castings: castings.length }
  }

  /** Puts castings to those that will be blasted again; the thing they went into. */
  #again(product: ProductId, castings: number[], line: 'a' | 'b'): string {
    let load = this.#rework.get(product)
    if (!load) {
      load = this.#made('RW', [], line)
      this.#rework.set(product, load)
    }
    load.castings.push(...castings)
    this.#room.world.truth.castings.put(castings, 'load:' + load.load)
    return 'load:' + load.load
  }

  #sendRework(): void {
    for (const [product, load] of this.#rework) {
      if (load.castings.length < 4) continue
      this.#rework.delete(product)
      this.#pass(load, this.tumbled)
    }
  }

  #pass(load: Load, rack: Rack<Load>): void {
    if (load.castings.length === 0) return
    load.since = this.#room.world.clock.now
    rack.put(load)
  }
}
