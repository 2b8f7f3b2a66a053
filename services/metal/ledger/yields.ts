// What came of each kilogram charged, as gauges tell: where a vessel was measured twice, what was charged in between
// shows in what it holds. Scales that differ and what melting burns off are alike in every heat of a plant, also in
// furnaces that nobody gauges.
import { causeOf, FRESH, SET, SHARING, singleOf, TOLERANCE, WEIGHED } from './op.ts'

// From memory: two scales and melting put a charge off by so much together, before any gauge told.
const BEFORE = Math.hypot(0.005, 0.005, 0.01)
// Common practice, no source: of what went through a vessel, what single weighings put it off by.
const SINGLE = 0.004
// What single weighings and what lots yield leave of the doubt of a share however well that is known: measured on
// invented foundries, a fifth to a half.
const LEFT = 1 / 2
/** Causes are told apart by ten bits. */
const CAUSES = 1024
/** Scales are set right now and then: each week tells of itself. Unit: seconds. */
const WEEK = 7 * 24 * 60 * 60

/** What came of each kilogram of one cause in one week. */
export interface Yield {
  /** How many times what was charged. */
  times: number
  /** Part of the doubt of it that is left. */
  left: number
}

const UNTOLD: Yield = { times: 1, left: 1 }

/** Sums over measurements, in their precision. */
interface Told {
  /** What was charged, squared. */
  squared: number
  /** What was charged, times what was found over. */
  over: number
}

/** By cause that charges share, and week. */
export class Yields {
  readonly #told = new Map<number, Told>()
  readonly #known = new Map<number, Yield>()

  note(cause: number, at: number, { charged, over, spread }: Measured): void {
    const key = keyOf(cause, at)
    const told = this.#told.get(key) ?? { squared: 0, over: 0 }
    told.squared += (charged / spread) ** 2
    told.over += (charged * over) / spread ** 2
    this.#told.set(key, told)
  }

  /** Good once all is noted. */
  of(cause: number, at: number): Yield {
    if (this.#told.size === 0) return UNTOLD
    const key = keyOf(cause, at)
    const known = this.#known.get(key)
    if (known) return known
    const told = this.#told.get(key)
    const found = told ? yieldOf(told) : UNTOLD
    this.#known.set(key, found)
    return found
  }
}

function yieldOf({ squared, over }: Told): Yield {
  return {
    times: 1 + over / (squared + 1 / BEFORE ** 2),
    left: Math.max(LEFT, 1 / Math.sqrt(1 + squared * BEFORE ** 2)),
  }
}

function keyOf(cause: number, at: number): number {
  return cause + CAUSES * Math.floor(at / WEEK)
}

/** What a vessel was found to hold over the book, and how far that may be off. */
interface Measured {
  charged: number
  over: number
  spread: number
}

/** What the walk carries from page to page. All but the yields by vessel, since it was last measured. */
export interface YieldSweep {
  yields: Yields
  mass: Float64Array
  /** What was charged of one cause, and which. */
  charged: Float64Array
  cause: Int32Array
  /** All that went in and out; below 0 where it was never measured. */
  through: Float64Array
  /** How good that measurement was. */
  spread: Float64Array
  /** By cell, seconds. */
  at: Uint32Array
}

export function yieldSweep(vessels: number, at: Uint32Array): YieldSweep {
  return {
    yields: new Yields(),
    mass: new Float64Array(vessels),
    charged: new Float64Array(vessels),
    cause: new Int32Array(vessels),
    through: new Float64Array(vessels).fill(NEVER),
    spread: new Float64Array(vessels),
    at,
  }
}

/** Reads what gauges tell of a page. */
export function yieldPage(sweep: YieldSweep, ops: Int32Array, end: number): void {
  const { yields, mass, charged, cause, through, spread, at } = sweep
  let [M, vessel, cell] = [0, -1, 0]
  let [own, tolerance, single] = [NONE, 0, 0]
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (vessel < 0) continue
      if (through[vessel] !== NEVER) {
        through[vessel]! += Math.abs(g)
        if (g > 0 && own !== NONE && (charged[vessel] === 0 || cause[vessel] === own)) {
          cause[vessel] = own
          charged[vessel]! += g
        }
      }
      own = NONE
      M = Math.max(0, M + g)
    } else if (slot <= FRESH) {
      if (vessel >= 0) mass[vessel] = M
      vessel = FRESH - 1 - slot
      cell = g
      M = vessel >= 0 ? mass[vessel]! : 0
      own = NONE
    } else if (slot === SHARING) {
      own = causeOf(g)
    } else if (slot === WEIGHED) {
      single = singleOf(g)
    } else if (slot === TOLERANCE) {
      tolerance = g
    } else if (slot === SET && vessel >= 0) {
      const off = tolerance > 0 ? single * g : 0
      const passed = through[vessel]!
      // What lies further off than that nobody reported, and what is mostly not charged tells of something else.
      if (g > 0 && Math.abs(g - M) <= tolerance && 4 * charged[vessel]! > passed && passed > 0) {
        const noise = Math.hypot(off, spread[vessel]!, SINGLE * passed)
        const measured = { charged: charged[vessel]!, over: g - M, spread: noise }
        yields.note(cause[vessel]!, at[cell]!, measured)
      }
      charged[vessel] = 0
      through[vessel] = 0
      spread[vessel] = off
      M = g
      tolerance = 0
    }
  }
  if (vessel >= 0) mass[vessel] = M
}

const NONE = -1
const NEVER = -1
