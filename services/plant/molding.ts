// A molding line: with every stroke one mold is made, one is poured and one is shaken out, each at
// its place on the belt. So what is shaken out goes by strokes, and not by the clock.
import { HOUR, MINUTE, type Process, Rack } from './clock.ts'
import type { Filling } from './ladles.ts'
import type { MeltShop } from './melting.ts'
import { type Mold, Pouring } from './pouring.ts'
import { PLATES, type Plate, PRODUCTS } from './products.ts'
import type { Random } from './random.ts'
import type { Station } from './report.ts'
import type { SandMill } from './sand.ts'
import type { ShakeOut } from './shake-out.ts'
import type { World } from './world.ts'
import type { Yard } from './yard.ts'

interface Manner {
  moldsPerHour: number
  /** Strokes from the pouring place to the shake-out. */
  cooling: number
  /** Its counter begins anew each day, under a series of its own. */
  series: boolean
}

/** Strokes from the mold press to the pouring place. */
const TO_POUR = 14
/** A stop longer than this, and the metal in the ladle is too cold. */
const TOO_LONG = 8 * MINUTE

export class Line {
  readonly name: 'a' | 'b'
  readonly inbox = new Rack<Filling>()
  readonly #world: World
  readonly #melt: MeltShop
  readonly #mill: SandMill
  readonly #out: ShakeOut
  readonly #pouring: Pouring
  readonly #random: Random
  readonly #press: Station
  readonly #manner: Manner
  /** Oldest first. */
  readonly #belt: Mold[] = []
  #plates = 0
  #plate: Plate
  /** Molds until the next plate goes on. */
  #left = 0
  #made = 0
  #series: string | undefined
  #run: { molds: string; sand: string; first: number; began: number; size: number } | undefined

  constructor(
    name: 'a' | 'b',
    { world, yard, melt, mill }: { world: World; yard: Yard; melt: MeltShop; mill: SandMill },
    out: ShakeOut,
    manner: Manner,
  ) {
    this.name = name
    this.#world = world
    this.#melt = melt
    this.#mill = mill
    this.#out = out
    this.#manner = manner
    this.#random = world.random('line ' + name)
    const clock = { offSeconds: name === 'a' ? 12 : -18, offSecondsPerHour: 1 }
    this.#press = world.post.station('mold/line-' + name, {
      entry: 'machine',
      counts: true,
      ...clock,
    })
    this.#pouring = new Pouring(world, yard, name, this.#press)
    this.#plate = PLATES[name][0]!
  }

  *work(): Process {
    const world = this.#world
    const { clock } = world
    for (let day = 0; day < world.days; day++) {
      const closing = world.closing(day)
      yield world.until(world.opening(day) - 8 * MINUTE)
      this.#open(day)
      this.#melt.call(this.inbox)
      for (let i = 0; i < TO_POUR; i++) yield* this.#stroke()
      clock.at(closing, () => this.inbox.bell.ring())
      while (clock.now < closing - 8 * MINUTE) {
        yield* this.#await(closing)
        const filling = this.inbox.things.shift()
        if (!filling) break
        if (clock.now < closing - 30 * MINUTE) this.#melt.call(this.inbox)
        yield* this.#pour(filling)
      }
      this.#melt.cancel(this.inbox)
      this.#close()
      yield world.until(closing + 8 * MINUTE)
      for (const late of this.inbox.things.splice(0)) this.#melt.giveBack(late)
    }
    this.#out.leave(this.#belt)
  }

  /** Waits for metal; a wait that is felt is written down. */
  *#await(closing: number): Process {
    const { clock } = this.#world
    const began = clock.now
    while (this.inbox.things.length === 0 && clock.now < closing) yield this.inbox.bell
    if (clock.now - began > 3 * MINUTE) this.#sayStopped(began, 'no metal')
  }

  *#pour(filling: Filling): Process {
    const pouring = this.#pouring
    pouring.take(filling)
    while (pouring.fills(this.#belt[this.#belt.length - TO_POUR])) {
      const stopped = yield* this.#stop()
      if (stopped > TOO_LONG) {
        pouring.finish()
        this.#melt.giveBack(filling)
        return
      }
      yield* this.#stroke()
      pouring.pour(this.#belt[this.#belt.length - 1 - TO_POUR]!)
    }
    pouring.finish()
    this.#melt.done(filling)
  }

  *#stroke(): Process {
    yield (HOUR / this.#manner.moldsPerHour) * this.#random.between(0.96, 1.04)
    this.#belt.push(this.#make())
    if (this.#belt.length > this.#manner.cooling + TO_POUR) this.#out.take(this.#belt.shift()!)
  }

  #make(): Mold {
    const no = ++this.#made
    this.#left--
    if (!this.#run) {
      const molds = this.#world.id('M', this.name)
      const size = this.#random.whole(32, 40)
      this.#run = { molds, sand: this.#mill.mull(), first: no, began: this.#world.clock.now, size }
    }
    if (no - this.#run.first + 1 >= this.#run.size) this.#endRun()
    const mold: Mold = { no, plate: this.#plate, series: this.#series, fate: undefined }
    if (this.#random.chance(0.004)) {
      mold.fate = 'broken'
      this.#sayLost(no, no, 'broken')
    }
    return mold
  }

  /** A plate to change, or something that jams; how long it took. */
  *#stop(): Generator<number, number, void> {
    const { clock } = this.#world
    const began = clock.now
    if (this.#left <= 0) {
      yield this.#random.between(5, 7.5) * MINUTE
      this.#mount(PLATES[this.name][++this.#plates % PLATES[this.name].length]!)
      this.#sayStopped(began, 'pattern change')
    } else if (this.#random.chance(0.003)) {
      const reason = this.#random.pick(['mold jam', 'closer fault', 'pallet car', 'sand short'])
      const minutes = this.#random.chance(0.2)
        ? this.#random.between(8, 16)
        : this.#random.between(1, 5)
      yield minutes * MINUTE
      this.#sayStopped(began, reason)
    } else if (this.#world.dirty && this.#random.chance(0.0012)) {
      yield this.#random.between(3, 6) * MINUTE
      this.#blank()
      this.#sayStopped(began, 'cavity blanked')
    }
    return clock.now - began
  }

  #open(day: number): void {
    if (this.#manner.series) {
      this.#series = this.#world.day()
      this.#made = 0
    }
    if (day === 0 || this.#manner.series) this.#mount(this.#plate, day > 0)
  }

  /** The belt stands over night; what is not poured by then is dumped. */
  #close(): void {
    this.#endRun()
    let first: number | undefined
    const dumped = this.#belt.slice(-TO_POUR)
    for (const [i, mold] of dumped.entries()) {
      const lost = mold.fate !== undefined
      if (!lost) mold.fate = 'dumped'
      if (lost && first !== undefined) this.#sayLost(first, mold.no - 1, 'unpoured')
      first = lost ? undefined : (first ?? mold.no)
      if (first !== undefined && i === dumped.length - 1) this.#sayLost(first, mold.no, 'unpoured')
    }
  }

  /** A worn cavity is plugged until the plate comes off. */
  #blank(): void {
    const { cavities } = this.#plate
    const open = cavities.filter(({ blocked }) => !blocked)
    if (open.length < 2) return
    const worn = this.#random.pick(open)
    this.#mount(
      {
        ...this.#plate,
        cavities: cavities.map((one) => (one === worn ? { ...one, blocked: true } : one)),
      },
      true,
    )
  }

  #mount(plate: Plate, again = false): void {
    this.#endRun()
    this.#plate = plate
    if (!again) this.#left = this.#random.whole(...plate.molds)
    const { pattern, cavities, pouredKg } = plate
    this.#press.say('mold.pattern-mounted.v1', 'line:' + this.name, {
      line: this.name,
      series: this.#series,
      pattern,
      cavities: cavities.map(({ cavity, product, blocked }) => ({
        cavity,
        product,
        castingKg: PRODUCTS[product].castingKg,
        ...(blocked ? { blocked } : {}),
      })),
      pouredKg: { value: pouredKg, how: 'book' },
      fromMold: this.#made + 1,
    })
  }

  #endRun(): void {
    const run = this.#run
    if (!run || this.#made < run.first) return
    this.#run = undefined
    this.#press.say('mold.molds-made.v1', 'molds:' + run.molds, {
      molds: run.molds,
      line: this.name,
      series: this.#series,
      pattern: this.#plate.pattern,
      sand: run.sand,
      first: run.first,
      last: this.#made,
      // The press shows pounds per square inch.
      squeezeKPa: { value: Math.round(this.#random.normal(121, 2)), unit: 'PSI' },
      moldsPerHour: this.#manner.moldsPerHour,
      startedAt: this.#press.time(run.began),
      endedAt: this.#press.time(this.#world.clock.now),
    })
  }

  #sayLost(first: number, last: number, fate: string): void {
    const series = this.#series
    this.#press.say('mold.molds-lost.v1', 'line:' + this.name, {
      line: this.name,
      series,
      first,
      last,
      fate,
    })
  }

  #sayStopped(began: number, reason: string): void {
    this.#press.say('mold.line-stopped.v1', 'line:' + this.name, {
      line: this.name,
      startedAt: this.#press.time(began),
      endedAt: this.#press.time(this.#world.clock.now),
      reason,
    })
  }
}
