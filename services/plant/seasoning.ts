// Seasoning: oil from a tank that is topped up, then the oven, several racks at a time. What comes
// out sticky is stripped and goes round again.

import type { Cleaning, Room } from './cleaning.ts'
import { HOUR, MINUTE, type Process, Rack } from './clock.ts'
import { ironOf } from './iron.ts'
import { type Load, stepFields } from './load.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import { Tank } from './tank.ts'
import { about } from './world.ts'

const AFTER_MINUTES = 100
/** Castings an oven is not started without, and more than it never holds. */
const OVEN = { least: 330, most: 460, patience: 30 * MINUTE }
/** What an eye finds after the bake. */
const SEES = { blister: 0.92, sticky: 0.85, misrun: 0.3, 'sand-inclusion': 0.3 } as const

export class Seasoning {
  readonly #oiled = new Rack<Load>()
  readonly #room: Room
  readonly #random: Random
  readonly #cleaning: Cleaning
  readonly #done: (load: Load) => void
  readonly #burnOff: Station
  #stripping: { load: Load; from: Map<string, number> } | undefined

  constructor(room: Room, cleaning: Cleaning, done: (load: Load) => void) {
    this.#room = room
    this.#cleaning = cleaning
    this.#done = done
    this.#burnOff = this.#station('strip-1', 0)
    this.#random = room.world.random('seasoning')
  }

  start(): void {
    const { clock, days } = this.#room.world
    clock.start(this.#oil('oiler-1'))
    clock.start(this.#oil('oiler-2'))
    clock.start(this.#bake('A'))
    clock.start(this.#bake('B'))
    for (let day = 0; day < days; day++) {
      clock.start(this.#strip(this.#room.world.opening(day) + 9.5 * HOUR))
    }
  }

  *#oil(machine: string): Process {
    const { world, totes } = this.#room
    const station = this.#station(machine, -4)
    const size = { fullKg: 32, leastKg: 20 }
    const tank = new Tank(this.#room, machine.replace('oiler', 'oil'), 'tank', 'flaxseed oil', size)
    for (;;) {
      yield* world.shift(AFTER_MINUTES)
      yield this.#random.between(2, 4) * MINUTE
      const taken =
        this.#cleaning.dried.things.length > 0 ? [] : totes.rack(this.#random.whole(72, 96))
      const waiting = taken.length > 0 ? undefined : this.#cleaning.dried.things.shift()
      if (taken.length === 0 && !waiting) continue
      const began = world.clock.now
      yield about(this.#random, 9)
      const castings = taken.flatMap((part) => part.castings)
      const load = waiting ?? { load: world.id('RK'), line: 'a', castings, since: world.clock.now }
      const sources = taken.map(({ tote, castings, emptied }) => ({
        of: 'tote:' + tote,
        castings: castings.length,
        ...(emptied ? { emptied } : {}),
      }))
      const thing = 'load:' + load.load
      world.truth.castings.handle(load.castings, thing)
      const filmMg = Math.round(this.#random.normal(620, 45))
      const kg = (load.castings.length * filmMg) / 1e6
      tank.draw(kg, ironOf(world.truth.metal.node(thing)))
      const castingsIn = load.castings.length
      const step = { machine, began, castingsIn, sources: sources.length > 0 ? sources : undefined }
      station.say('season.load-oiled.v1', thing, {
        ...stepFields(world, station, load, step),
        materials: [{ of: 'bin:' + tank.bin, kg: Number(kg.toFixed(4)), purpose: 'oil' }],
        kV: Math.round(this.#random.normal(72, 2)),
        filmMg,
        coat: 1,
      })
      load.since = world.clock.now
      this.#oiled.put(load)
    }
  }

  *#bake(oven: 'A' | 'B'): Process {
    const { world } = this.#room
    const machine = 'oven-' + oven
    const station = this.#station(machine, oven === 'A' ? 15 : -11)
    for (;;) {
      yield* world.shift(AFTER_MINUTES)
      const racks = this.#batch()
      if (racks.length === 0) {
        yield 4 * MINUTE
        continue
      }
      yield this.#random.between(2, 4) * MINUTE
      const began = world.clock.now
      // Now and then the second zone of oven B does not come up.
      const cold = oven === 'B' && this.#random.chance(0.12)
      const stops = this.#random.chance(0.06) ? yield* this.#halt(station) : undefined
      yield about(this.#random, 58)
      const castings = racks.flatMap((rack) => rack.castings)
      const run = world.next('oven ' + oven)
      const load: Load = {
        load: `OV${world.day()}-${oven}${run}`,
        line: racks[0]!.line,
        castings,
        since: world.clock.now,
      }
      world.truth.castings.handle(castings, 'load:' + load.load)
      this.#cure(castings, cold)
      const sources: Given[] = racks.map((rack) => ({
        of: 'load:' + rack.load,
        castings: rack.castings.length,
      }))
      station.say('season.load-baked.v1', 'load:' + load.load, {
        ...stepFields(world, station, load, {
          machine,
          began,
          castingsIn: castings.length,
          sources,
        }),
        zones: this.#zones(oven, cold),
        stops,
      })
      this.#look(load)
    }
  }

  /** Racks for one run: the oldest, as many as fit; none, while it is worth waiting. */
  #batch(): Load[] {
    const { things } = this.#oiled
    const oldest = things[0]
    if (!oldest) return []
    const count = things.reduce((sum, load) => sum + load.castings.length, 0)
    const { clock } = this.#room.world
    if (count < OVEN.least && clock.now - oldest.since < OVEN.patience) return []
    const racks = [things.shift()!]
    let held = racks[0]!.castings.length
    while (things[0] && held + things[0].castings.length <= OVEN.most) {
      held += things[0].castings.length
      racks.push(things.shift()!)
    }
    return racks
  }

  *#halt(station: Station): Generator<number, Given[], void> {
    const { clock } = this.#room.world
    const began = clock.now
    yield this.#random.between(4, 12) * MINUTE
    return [{ startedAt: station.time(began), endedAt: station.time(clock.now) }]
  }

  /** What the oven makes of the coat. */
  #cure(castings: readonly number[], cold: boolean): void {
    const { truth } = this.#room.world
    for (const casting of castings) {
      const porous = truth.castings.has(casting, 'pinhole')
      if (this.#random.chance(porous ? 0.55 : 0.004)) truth.castings.spoil(casting, 'blister')
      if (this.#random.chance(cold ? 0.035 : 0.004)) truth.castings.spoil(casting, 'sticky')
    }
  }

  /** Oven A shows degrees Fahrenheit. */
  #zones(oven: 'A' | 'B', cold: boolean): Given[] {
    return [205, 246, 238].map((set, zone) => {
      const celsius = this.#random.normal(set, 2) - (cold && zone === 1 ? 22 : 0)
      return {
        celsius:
          oven === 'A'
            ? { value: Math.round(celsius * 1.8 + 32), unit: 'FAH' }
            : Math.round(celsius),
        minutes: [12, 34, 12][zone]!,
        of: 'air',
        how: 'read',
      }
    })
  }

  #look(load: Load): void {
    const { world, inspection } = this.#room
    world.clock.at(world.clock.now + this.#random.between(5, 12) * MINUTE, () => {
      const sticky = inspection.look(load, { stage: 'after-bake', sees: SEES })
      if (sticky.length > 0) this.#putAside(load, sticky)
      this.#done(load)
    })
  }

  #putAside(from: Load, castings: number[]): void {
    const { world } = this.#room
    this.#stripping ??= {
      load: { load: world.id('ST', '', 2), line: 'b', castings: [], since: world.clock.now },
      from: new Map(),
    }
    this.#stripping.load.castings.push(...castings)
    this.#stripping.from.set(from.load, castings.length)
  }

  /** Burns the coat off what was put aside. */
  *#strip(at: number): Process {
    const { world } = this.#room
    yield world.until(at)
    const stripping = this.#stripping
    if (!stripping) return
    this.#stripping = undefined
    const { load, from } = stripping
    const began = world.clock.now
    yield about(this.#random, 45)
    const station = this.#burnOff
    world.truth.castings.handle(load.castings, 'load:' + load.load)
    for (const casting of load.castings) world.truth.castings.mend(casting, 'sticky')
    const sources: Given[] = [...from].map(([source, castings]) => ({
      of: 'load:' + source,
      castings,
    }))
    const step = { machine: 'strip-1', began, castingsIn: load.castings.length, sources }
    station.say('season.load-stripped.v1', 'load:' + load.load, {
      ...stepFields(world, station, load, step),
      method: 'burn-off oven',
    })
    this.#cleaning.tumbled.put(load)
  }

  #station(machine: string, offSeconds: number): Station {
    return this.#room.world.post.station('season/' + machine, {
      entry: 'machine',
      counts: true,
      offSeconds,
    })
  }
}
