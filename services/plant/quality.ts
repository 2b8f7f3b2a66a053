// What quality and the gauge room say: limits, checked instruments, readings, and later what
// customers complain about.

import type { Flaw } from './casting-truth.ts'
import { DAY, HOUR, MINUTE, type Process } from './clock.ts'
import type { Load } from './load.ts'
import { RECIPE } from './materials.ts'
import { PRODUCTS, type Product } from './products.ts'
import type { Random } from './random.ts'
import type { Station } from './report.ts'
import type { Shipping } from './shipping.ts'
import type { World } from './world.ts'

/** Days from the last shift to a complaint. */
const AFTER_DAYS = [4, 6, 9, 12]
const SHOWS: Partial<Record<Flaw, string>> = {
  pinhole: 'small holes in the cooking surface',
  blister: 'the black coat comes off in bubbles',
  sticky: 'the surface stays sticky',
  'sand-inclusion': 'a rough spot as big as a pea',
}

export class Quality {
  readonly #world: World
  readonly #random: Random
  readonly #gauges: Station
  readonly #desk: Station
  readonly #complaints: Station

  constructor(world: World) {
    this.#world = world
    this.#random = world.random('quality')
    this.#gauges = world.post.station('inspect/gauges', { entry: 'hand', delaySeconds: [60, 1500] })
    this.#desk = world.post.station('quality/desk', { entry: 'hand' })
    this.#complaints = world.post.station('inspect/complaints', { entry: 'hand' })
  }

  start(shipping: Shipping): void {
    const { clock, start, days } = this.#world
    clock.at(start - 2 * HOUR, () => this.#setLimits())
    clock.at(start + 10 * HOUR, () => this.#change())
    for (let day = 0; day < days; day++) {
      clock.at(this.#world.opening(day) - 30 * MINUTE, () => this.#checkInstrument())
    }
    for (const [i, after] of AFTER_DAYS.entries()) {
      const at = this.#world.closing(days - 1) + after * DAY - this.#random.between(6, 13) * HOUR
      clock.at(at, () => clock.start(this.#complain(shipping, i)))
    }
  }

  /** Hardness and coat of some loads. */
  gauge(load: Load): void {
    const random = this.#random
    if (!random.chance(0.5)) return
    const of = 'load:' + load.load
    this.#gauges.say('inspect.reading-taken.v1', of, {
      of,
      station: 'season',
      takenAt: this.#gauges.time(this.#world.clock.now),
      readings: [
        {
          quantity: 'coat thickness',
          value: Number(random.normal(3.4, 0.4).toFixed(1)),
          unit: '4H',
        },
        {
          quantity: 'hardness',
          value: Math.round(random.normal(196, 6)),
          unit: 'C62',
          method: 'HBW 5/750',
        },
      ],
    })
  }

  #setLimits(): void {
    const from = this.#desk.time(this.#world.start)
    const { id: recipe, aim } = RECIPE
    for (const [of, quantity, low, high, unit, wanted] of [
      [{ recipe }, 'C', 3.4, 3.65, 'P1', aim.C],
      [{ recipe }, 'Si', 1.95, 2.45, 'P1', undefined],
      [{ recipe }, 'Cr', undefined, 0.15, 'P1', undefined],
      [{}, 'pouring temperature', 1380, 1450, 'CEL', undefined],
      [{ machine: 'oven-B' }, 'zone 2 air temperature', 238, 254, 'CEL', 246],
    ] as const) {
      this.#desk.say('quality.limits-set.v1', undefined, {
        of: { ...of },
        quantity,
        unit,
        from,
        ...(low === undefined ? {} : { low }),
        ...(wanted === undefined ? {} : { aim: wanted }),
        high,
      })
    }
  }

  #change(): void {
    this.#desk.say('quality.machine-changed.v1', 'machine:oiler-2', {
      station: 'season',
      machine: 'oiler-2',
      change: 'cleaned',
      note: 'nozzles cleaned',
    })
  }

  #checkInstrument(): void {
    const instrument = 'spark-1'
    this.#gauges.say('inspect.instrument-checked.v1', 'instrument:' + instrument, {
      instrument,
      readings: [
        {
          quantity: 'C',
          reference: 3.42,
          read: Number(this.#random.normal(3.42, 0.02).toFixed(3)),
          unit: 'P1',
        },
        {
          quantity: 'Cr',
          reference: 0.11,
          read: Number(this.#random.normal(0.11, 0.002).toFixed(3)),
          unit: 'P1',
        },
      ],
      action: 'none',
    })
  }

  /** Somebody reads a mark as well as it can be read, and the piece or a photo is looked at later. */
  *#complain({ shipped }: Shipping, number: number): Process {
    const { truth, clock } = this.#world
    const random = this.#random
    const shows = (Object.keys(SHOWS) as Flaw[]).slice(0, number % 2 ? undefined : 2)
    for (const { pack, customer } of shipped.slice((number * shipped.length) / AFTER_DAYS.length)) {
      const line = pack.lines[0]!
      const flawOf = (casting: number) => shows.find((flaw) => truth.castings.has(casting, flaw))
      const defect = line.castings.map(flawOf).find((flaw) => flaw !== undefined)
      if (!defect) continue
      const complaint = `CMP-${101 + number}`
      const { name }: Product = PRODUCTS[line.product]
      const mark = pack.marks[0]!
      const worn = random.whole(4, mark.length - 1)
      const text = number === 0 ? mark : `${mark.slice(0, worn)}?${mark.slice(worn + 1)}`
      const byPhoto = number % 2 === 1
      this.#complaints.say('inspect.complaint-received.v1', `complaint:${complaint}`, {
        complaint,
        marks: [{ place: 'carton', text }],
        product: line.product,
        castings: 1,
        defect: byPhoto ? undefined : defect,
        words: `${name}: ${SHOWS[defect]}`,
        receivedAt: this.#complaints.time(clock.now),
        boughtOn: 'a few days ago',
        evidence: byPhoto ? 'photo' : 'piece',
        customer,
      })
      if (byPhoto) return
      yield 3 * HOUR
      this.#complaints.say('inspect.complaint-examined.v1', `complaint:${complaint}`, {
        complaint,
        defect,
        confirmed: true,
        of: `pack:${pack.pack}`,
      })
      return
    }
  }
}
