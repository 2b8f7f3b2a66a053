// Where a number lies in a drawing, and which round numbers are named there.

type Pair = readonly [number, number]

export interface Scale {
  (value: number): number
  /** The values at its ends. */
  readonly ends: Pair
  /** Where they lie. Unit: px. */
  readonly places: Pair
}

export function straight(ends: Pair, places: Pair): Scale {
  return Object.assign((value: number) => between(places, partOf(value, ends)), { ends, places })
}

/** By logarithm, with the way back; what lies beyond an end lies at it. */
export function logarithmic(ends: Pair, places: Pair): Scale & { valueAt(place: number): number } {
  const logs: Pair = [Math.log(ends[0]), Math.log(ends[1])]
  const within = (part: number) => Math.min(1, Math.max(0, part))
  const at = (value: number) => between(places, within(partOf(Math.log(value), logs)))
  const valueAt = (place: number) => Math.exp(between(logs, within(partOf(place, places))))
  return Object.assign(at, { ends, places, valueAt })
}

/** Steps of 1, 2 or 5 from one value to another, about so many. */
export function ticks([from, to]: Pair, about: number): number[] {
  const step = stepOf([from, to], about)
  const first = Math.ceil(from / step)
  const count = Math.floor(to / step) - first + 1
  // As a fraction of whole numbers, a step of a tenth adds up to no 0.30000000000000004.
  return Array.from({ length: count }, (_, i) =>
    step < 1 ? (first + i) / Math.round(1 / step) : (first + i) * step,
  )
}

/** The same ends, moved out to such steps. */
export function rounded(ends: Pair, about: number): Pair {
  const step = stepOf(ends, about)
  return [Math.floor(ends[0] / step) * step, Math.ceil(ends[1] / step) * step]
}

function stepOf([from, to]: Pair, about: number): number {
  const rough = (to - from) / about
  const power = 10 ** Math.floor(Math.log10(rough))
  const times = rough / power
  // The nearest by ratio.
  return (
    power * (times >= Math.sqrt(50) ? 10 : times >= Math.sqrt(10) ? 5 : times >= Math.SQRT2 ? 2 : 1)
  )
}

/** Unit: h. */
const HOURS = [1, 3, 6, 12, 24, 48, 168, 336, 672, 2_184, 8_736]

/** Round moments by the reader's clock, at most so many. */
export function momentTicks(from: Date, to: Date, most: number): Date[] {
  const hours = (to.getTime() - from.getTime()) / 3_600_000
  const step = HOURS.find((each) => hours / each <= most) ?? HOURS.at(-1)!
  const at = new Date(from)
  at.setHours(0, 0, 0, 0)
  const moments: Date[] = []
  while (at <= to) {
    if (at >= from) moments.push(new Date(at))
    if (step < 24) at.setHours(at.getHours() + step)
    else at.setDate(at.getDate() + step / 24)
  }
  return moments
}

function partOf(value: number, [from, to]: Pair): number {
  return (value - from) / (to - from)
}

function between([from, to]: Pair, part: number): number {
  return from + (to - from) * part
}
