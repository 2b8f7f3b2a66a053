// What came of each kilogram charged, as gauges tell: where a vessel was measured twice, what was charged in between
// shows in what it holds. Scales that differ and what melting burns off are alike in every heat of a plant, also in
// furnaces that nobody gauges.
import { causeOf, FRESH, OLDER, SET, SHARING, singleOf, TOLERANCE, WEIGHED } from './op.ts'

// From memory: two scales and melting put a charge off by so much together, before any gauge told.
const BEFORE = Math.hypot(0.005, 0.005, 0.01)
// Common practice, no source: of what went through a vessel, what single weighings put it off by.
const SINGLE = 0.004
// What single weighings and what lots yield leave of the doubt of a share however well that is known: measured on
// invented foundries, a fifth to a half.
const LEFT = 1 / 2
/** Scales are set right now and then: each week tells of itself. Unit: seconds. */
const WEEK = 7 * 24 * 60 * 60

interface Told {
  /** Sums over measurements, in their precision: of what was charged, squared, and of it times what was found over. */
  squared: number
  over: number
}

/** By cause that charges share, and week. */
export class Yields {
  readonly #told = new Map<string, Told>()

  note(cause: number, at: number, { charged, over, spread }: Measured): void {
    const key = keyOf(cause, at)
    const told = this.#told.get(key) ?? { squared: 0, over: 0 }
    told.squared += (charged / spread) ** 2
    told.over += (charged * over) / spread ** 2
    this.#told.set(key, told)
  }

  /** How many times what was charged of this cause came of it. */
  of(cause: number, at: number): number {
    const told = this.#told.get(keyOf(cause, at))
    return told ? 1 + told.over / (told.squared + 1 / BEFORE ** 2) : 1
  }

  /** Part of the doubt of what was charged so that is left. */
  left(cause: number, at: number): number {
    const told = this.#told.get(keyOf(cause, at))
    return told ? Math.max(LEFT, 1 / Math.sqrt(1 + told.squared * BEFORE ** 2)) : 1
  }
}

function keyOf(cause: number, at: number): string {
  return `${cause} ${Math.floor(at / WEEK)}`
}

/** What a vessel was found to hold over the book, and how far that may be off. */
interface Measured {
  charged: number
  over: number
  spread: number
}

/** Since a vessel was last measured: what was charged of one cause, all that went through, and how good that gauge was. */
interface Since {
  cause: number
  charged: number
  through: number
  spread: number
}

export interface YieldSweep {
  yields: Yields
  /** By vessel. */
  mass: Float64Array
  since: Map<number, Since>
  /** By cell, seconds. */
  at: Uint32Array
}

/** Reads what gauges tell of a page. */
export function yieldPage(sweep: YieldSweep, ops: Int32Array, end: number): void {
  const { yields, mass, since, at } = sweep
  let M = 0
  let vessel = -1
  let cell = 0
  let own: Since | undefined
  let [cause, tolerance, single] = [NONE, 0, 0]
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const g = ops[i + 1]!
    if (slot >= 0) {
      if (own) {
        own.through += Math.abs(g)
        if (g > 0 && cause !== NONE && (own.cause === NONE || own.cause === cause)) {
          own.cause = cause
          own.charged += g
        }
      }
      cause = NONE
      M = Math.max(0, M + g)
    } else if (slot <= FRESH) {
      if (vessel >= 0) mass[vessel] = M
      vessel = FRESH - 1 - slot
      cell = g
      M = vessel >= 0 ? mass[vessel]! : 0
      own = vessel >= 0 ? since.get(vessel) : undefined
      cause = NONE
    } else if (slot === SHARING) {
      cause = causeOf(g)
    } else if (slot === WEIGHED) {
      single = singleOf(g)
    } else if (slot === TOLERANCE) {
      tolerance = g
    } else if (slot === SET && vessel >= 0) {
      const spread = tolerance > 0 ? single * g : 0
      // What lies further off than that nobody reported, and what is mostly not charged tells of something else.
      if (own && g > 0 && Math.abs(g - M) <= tolerance && own.charged > own.through / 4) {
        const noise = Math.hypot(spread, own.spread, SINGLE * own.through)
        yields.note(own.cause, at[cell]!, { charged: own.charged, over: g - M, spread: noise })
      }
      own = { cause: NONE, charged: 0, through: 0, spread }
      since.set(vessel, own)
      M = g
      tolerance = 0
    } else if (slot === OLDER) cause = NONE
  }
  if (vessel >= 0) mass[vessel] = M
}

const NONE = -1
