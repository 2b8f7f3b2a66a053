// Pouring: one unbroken run of molds from one filling. A new plate on the belt ends the run.
import { MINUTE } from './clock.ts'
import { doseOf, type Iron, ironOf } from './iron.ts'
import type { Filling } from './ladles.ts'
import type { Plate } from './products.ts'
import type { Random } from './random.ts'
import type { Station } from './report.ts'
import { type World, weighed } from './world.ts'
import type { Yard } from './yard.ts'

/** A mold on the belt. */
export interface Mold {
  no: number
  plate: Plate
  series: string | undefined
  /** Why no sound casting comes out of it. */
  fate: 'broken' | 'dumped' | 'run-out' | 'short' | undefined
  poured?: Poured
}

/** What the metal did in one mold. */
interface Poured {
  pour: Pour
  celsius: number
  kg: number
  /** The only cavity that filled, in a mold that ran short. */
  kept?: number
}

export interface Pour {
  pour: string
  iron: Iron
  /** By cavity of the plate, the unit of the truth; none where it is blocked. */
  units: (number | undefined)[]
  /** Part of the metal that came from the bad lot. */
  dose: number
  began: number
  first: Mold
  last: Mold
  kg: number
  molds: number
  lost: { mold: Mold; castingsKept?: number }[]
}

/** Stays in the ladle when the pourer puts it down. */
const RESIDUE_KG = 6

export class Pouring {
  readonly #world: World
  readonly #yard: Yard
  readonly #random: Random
  readonly #line: string
  readonly #press: Station
  readonly #unit: Station
  #filling: Filling | undefined
  #pour: Pour | undefined

  constructor(world: World, yard: Yard, line: string, press: Station) {
    this.#world = world
    this.#yard = yard
    this.#line = line
    this.#press = press
    this.#random = world.random('pouring ' + line)
    const clock = { offSeconds: line === 'a' ? -9 : 21, offSecondsPerHour: -1 }
    this.#unit = world.post.station('pour/line-' + line, {
      entry: 'machine',
      counts: true,
      ...clock,
    })
  }

  take(filling: Filling): void {
    this.#filling = filling
  }

  /** Whether the ladle has enough for the mold that comes next. */
  fills(next: Mold | undefined): boolean {
    const left = this.#filling!.iron.kg - (this.#pour?.kg ?? 0)
    return next !== undefined && left - RESIDUE_KG > next.plate.pouredKg * 1.03
  }

  pour(mold: Mold): void {
    if (mold.fate) return
    if (this.#pour && this.#pour.first.plate !== mold.plate) this.finish()
    const filling = this.#filling!
    this.#pour ??= this.#begin(mold)
    const pour = this.#pour
    const book = mold.plate.pouredKg * this.#world.bias('plate ' + mold.plate.pattern, 0.015)
    const kg = book * this.#random.normal(1, 0.008)
    mold.poured = { pour, celsius: this.#celsius(filling), kg }
    pour.last = mold
    pour.kg += kg
    pour.molds++
    if (this.#random.chance(0.0025)) this.#lose(mold, 'run-out')
    else if (this.#random.chance(0.003)) this.#lose(mold, 'short')
  }

  /** Ends the run and reports it. */
  finish(): void {
    const pour = this.#pour
    if (!pour) return
    this.#pour = undefined
    const filling = this.#filling!
    const world = this.#world
    world.move(filling.iron, pour.iron, pour.kg)
    const additions = this.#line === 'b' ? this.#inStream(pour) : undefined
    pour.dose = doseOf(pour.iron)
    world.truth.pours.push({
      pour: pour.pour,
      ladle: filling.ladle,
      heat: filling.heat,
      furnace: filling.furnace,
      line: this.#line,
    })
    this.#say(pour, filling, additions)
    for (const { mold, castingsKept } of pour.lost) {
      this.#press.say('mold.molds-lost.v1', 'line:' + this.#line, {
        line: this.#line,
        series: mold.series,
        first: mold.no,
        last: mold.no,
        fate: mold.fate,
        kg: { value: Math.round(mold.plate.pouredKg), how: 'estimated' },
        castingsKept,
      })
    }
  }

  #begin(mold: Mold): Pour {
    const { truth } = this.#world
    const pour = this.#world.id('P', this.#line)
    const iron = ironOf(truth.metal.node('pour:' + pour))
    this.#world.pours.set(pour, iron)
    return {
      pour,
      iron,
      units: mold.plate.cavities.map(({ product, cavity, blocked }) =>
        blocked ? undefined : truth.castings.unit(pour, product, cavity),
      ),
      dose: 0,
      began: this.#world.clock.now,
      first: mold,
      last: mold,
      kg: 0,
      molds: 0,
      lost: [],
    }
  }

  #lose(mold: Mold, fate: 'run-out' | 'short'): void {
    const open = mold.plate.cavities.flatMap((cavity, i) => (cavity.blocked ? [] : [i]))
    mold.fate = fate
    const alike = new Set(mold.plate.cavities.map((cavity) => cavity.product)).size === 1
    if (fate === 'short' && alike && this.#random.chance(0.4)) {
      mold.poured!.kept = this.#random.pick(open)
    }
    const castingsKept = mold.poured!.kept === undefined ? undefined : 1
    this.#pour!.lost.push(castingsKept ? { mold, castingsKept } : { mold })
  }

  /** Into the stream, a little inoculant on its own account. */
  #inStream(pour: Pour): { of: string; kg: number; purpose: string }[] {
    const kg = pour.kg * this.#random.between(0.0006, 0.001)
    return this.#yard
      .use('inoculant', kg, pour.iron)
      .map((drawn) => ({ of: drawn.of, kg: Number(drawn.kg.toFixed(2)), purpose: 'inoculation' }))
      .filter((drawn) => drawn.kg > 0)
  }

  #say(
    pour: Pour,
    filling: Filling,
    additions: { of: string; kg: number; purpose: string }[] | undefined,
  ): void {
    const { first, last } = pour
    const random = this.#random
    const shown = (mold: Mold) => Math.round(random.normal(mold.poured!.celsius, 5))
    const bias = this.#world.bias('meter ' + this.#line, 0.008)
    const metered = random.chance(0.85)
    const now = this.#world.clock.now
    const middle = (pour.began + now) / 2
    const mid = (first.poured!.celsius + last.poured!.celsius) / 2
    this.#unit.say('pour.molds-poured.v1', 'pour:' + pour.pour, {
      pour: pour.pour,
      ladle: filling.ladle,
      line: this.#line,
      series: first.series,
      first: first.no,
      last: last.no,
      celsius: shown(first),
      temperatures: random.chance(0.6)
        ? [
            { at: this.#unit.time(middle), celsius: Math.round(random.normal(mid, 5)) },
            { at: this.#unit.time(now), celsius: shown(last) },
          ]
        : undefined,
      additions,
      kg: metered
        ? { value: weighed(random, pour.kg * bias, 1, 0.006), how: 'metered' }
        : undefined,
      kgPerMold: metered ? undefined : { value: first.plate.pouredKg, how: 'book' },
      startedAt: this.#unit.time(pour.began),
      endedAt: this.#unit.time(now),
    })
  }

  /** It cools while it waits. Rates from memory. */
  #celsius(filling: Filling): number {
    return filling.celsius - 30 - (2.1 * (this.#world.clock.now - filling.tapped)) / MINUTE
  }
}
