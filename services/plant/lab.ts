// The laboratory: what the spectrometer shows of metal, which is near to what it is.
import { MINUTE } from './clock.ts'
import { type Chemistry, ELEMENTS, type Iron, percentOf } from './iron.ts'
import type { Random } from './random.ts'
import type { Given, Station } from './report.ts'
import type { World } from './world.ts'

/** Standard deviation of one analysis: part of the value, and never under some percent. From memory. */
const ERROR = { relative: 0.008, least: 0.0012 }
const INSTRUMENT = 'spark-1'

interface Sampled {
  heat: string
  of?: string
  afterTap?: number
}

export class Lab {
  readonly #world: World
  readonly #random: Random
  readonly #desk: Station

  constructor(world: World) {
    this.#world = world
    this.#random = world.random('lab')
    this.#desk = world.post.station('melt/lab', { entry: 'machine', delaySeconds: [20, 120] })
  }

  /** Takes a sample now, reports it, and says what was read. */
  sample(iron: Iron, { heat, of, afterTap }: Sampled): Chemistry {
    const sample = this.#world.id('S', '', 3)
    const read: Chemistry = {}
    const chemistry: Given = {}
    for (const element of ELEMENTS) {
      const percent = percentOf(iron, element)
      const error = Math.max(ERROR.least, ERROR.relative * percent)
      const bias = this.#world.bias('spark ' + element, 0.006)
      const shown = Math.max(0, Number(this.#random.normal(percent * bias, error).toFixed(3)))
      read[element] = shown
      chemistry[element] = shown < 0.002 ? { below: 0.002 } : shown
    }
    chemistry.Pb = { below: 0.002 }
    const taken = this.#world.clock.now
    this.#desk.say('melt.heat-sampled.v1', 'heat:' + heat, {
      heat,
      sample,
      of,
      takenAt: this.#desk.time(taken - 3 * MINUTE),
      chemistry,
      burns: 3,
      method: 'spark',
      instrument: INSTRUMENT,
      afterTap,
      kept: of ? undefined : `drawer ${this.#world.day()}`,
    })
    return read
  }
}
