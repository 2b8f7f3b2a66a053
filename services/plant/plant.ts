import { momentOf } from '../events/moment.ts'
import { Cleaning, type Room } from './cleaning.ts'
import { Clock, HOUR } from './clock.ts'
import type { Mishap } from './fault.ts'
import { plantFaults } from './faults.ts'
import { Inspection } from './inspecting.ts'
import { MeltShop } from './melting.ts'
import { plantMishaps } from './mishaps.ts'
import { Line } from './molding.ts'
import { Packing } from './packing.ts'
import { Quality } from './quality.ts'
import { randomOf } from './random.ts'
import { Post, type Report } from './report.ts'
import { ReturnsHopper } from './returns.ts'
import { SandMill } from './sand.ts'
import { Seasoning } from './seasoning.ts'
import { ShakeOut } from './shake-out.ts'
import { Shipping } from './shipping.ts'
import { Totes } from './totes.ts'
import { Truth } from './truth.ts'
import { World } from './world.ts'
import { Yard } from './yard.ts'

export interface Settings {
  /** A whole number; the same one gives the same foundry. */
  seed: number
  /** Production days. */
  days: number
  /** Six in the morning of the first day, RFC 3339 with the plant's offset. */
  start?: string
  /** False: nothing is reported wrongly or not at all; clocks and delays stay. */
  faults?: boolean
  /** Scales, gauges and clocks that are off, bays that lie in layers and more that nobody writes down. */
  dirty?: boolean
  /** Further mishaps of the reports, by the hundred. */
  mishaps?: readonly Mishap[]
}

export interface Simulated {
  /** In the order they reach the doors. */
  reports: Report[]
  truth: Truth
}

const START = '2026-04-11T06:00:00-06:00'

/**
 * Works an invented foundry for some days: about 3,000 reports a day, and the truth they are about.
 * Throws RangeError when the start is no moment with an offset.
 */
export function simulate({
  seed,
  days,
  start = START,
  faults = true,
  dirty = false,
  mishaps = [],
}: Settings): Simulated {
  const opening = momentOf(start)
  if (opening === undefined) {
    throw new RangeError(
      `start ${start} is no date and time with offset; give one such as ${START}`,
    )
  }
  // The yard fills up the afternoon before.
  const clock = new Clock(opening - 17 * HOUR)
  const chance = {
    random: randomOf(seed, 'post'),
    clocks: dirty ? randomOf(seed, 'clocks') : undefined,
  }
  const post = new Post(clock, chance, opening, offsetOf(start))
  const truth = new Truth()
  const world = new World({ seed, days, dirty }, { clock, post, truth, start: opening })
  build(world)
  clock.run()
  if (faults) plantFaults(world)
  plantMishaps(world, mishaps)
  return { reports: post.sorted(), truth }
}

function build(world: World): void {
  const { clock } = world
  const yard = new Yard(world)
  const melt = new MeltShop(world, yard)
  const mill = new SandMill(world, yard)
  const scrap = new ReturnsHopper(world, yard, 'castings')
  const totes = new Totes(world)
  const room: Room = { world, yard, inspection: new Inspection(world, scrap), scrap, totes }
  const packing = new Packing(world, yard)
  const quality = new Quality(world)
  const shipping = new Shipping(world, packing, totes)
  const cleaning = new Cleaning(room)
  const seasoning = new Seasoning(room, cleaning, (load) => {
    quality.gauge(load)
    packing.take(load)
  })
  const shop = { world, yard, melt, mill }
  const line = (name: 'a' | 'b', moldsPerHour: number, cooling: number) => {
    const gates = new ReturnsHopper(world, yard, 'gates', name)
    const out = new ShakeOut(world, name, { gates, scrap }, cleaning.shaken)
    return new Line(name, shop, out, { moldsPerHour, cooling, series: name === 'b' })
  }
  clock.start(yard.work())
  melt.start()
  clock.start(line('a', 172, 128).work())
  clock.start(line('b', 150, 115).work())
  cleaning.start()
  seasoning.start()
  clock.start(packing.work())
  shipping.start()
  quality.start(shipping)
}

/** Unit: minutes. */
function offsetOf(start: string): number {
  const [, sign, hours, minutes] = /([+-])(\d\d):(\d\d)$/.exec(start) ?? []
  return sign ? (Number(hours) * 60 + Number(minutes)) * (sign === '-' ? -1 : 1) : 0
}
