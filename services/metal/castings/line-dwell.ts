// From the pouring of a mold to where its casting is first reported again, on one molding line. An
// indexed line moves by strokes, so mold m comes out when mold m + K is made, however long the line
// stood in between; where strokes cannot be told, its running minutes serve.
import { type Dwell, FEWEST, learn, likelihood } from './dwell.ts'
import type { LineClock } from './line-clock.ts'
import type { Count, Poured } from './molds.ts'

/** A stretch on the clock of the line: strokes or minutes, the end not included. */
export interface Spell {
  from: number
  until: number
}

export type LineUnit = 'strokes' | 'minutes'

/** When something was done at the end of the line. Unit: ms. */
export interface Took {
  from: number
  at: number
}

/** A load that names what it took of which pours. */
export interface Example extends Took {
  parts: { poured: Poured; count: Count | undefined; castings: number }[]
}

export interface LineDwell {
  unit: LineUnit
  dwell: Dwell
}

const MINUTE = 60_000

/**
 * Learned from where one pour ended and the next began within a load: that seam is known to a mold,
 * while a load of a single pour says little. Undefined where too few loads name what went into them.
 */
export function learnLine(
  clock: LineClock,
  examples: Iterable<Example>,
  units: readonly LineUnit[] = ['strokes', 'minutes'],
): LineDwell | undefined {
  const loads = [...examples]
  for (const unit of units) {
    const seen = loads.flatMap((load) => seamsOf(clock, load, unit))
    const dwell = seen.length < FEWEST ? undefined : learn(seen, 1)
    if (dwell) return { unit, dwell }
  }
  return undefined
}

/** Where a pour's molds were, on the line's clock; undefined where that cannot be told. */
export function pouredAt(
  clock: LineClock,
  poured: Poured,
  count: Count | undefined,
  unit: LineUnit,
): Spell | undefined {
  if (unit === 'minutes') return minutesOf(clock, poured)
  const strokes = (count?.stretches ?? []).flatMap(({ first, last, runs }) => {
    const stroke = runs[0] && clock.strokeOf(runs[0], first)
    return stroke === undefined ? [] : [stroke, stroke + last - first + 1]
  })
  if (strokes.length === 0) return undefined
  return { from: Math.min(...strokes), until: Math.max(...strokes) }
}

export function tookAt(clock: LineClock, took: Took, unit: LineUnit): Spell | undefined {
  if (unit === 'minutes') return minutesOf(clock, took)
  const [from, until] = [clock.strokesAt(took.from), clock.strokesAt(took.at)]
  return from === undefined || until === undefined ? undefined : { from, until }
}

/** Chance, without scale, that a casting taken in a spell is of a mold of another: the mean over both. */
export function chanceOf({ dwell }: LineDwell, took: Spell, molds: Spell): number {
  let sum = 0
  for (let i = 0; i < POINTS; i++) {
    for (let k = 0; k < POINTS; k++) {
      sum += likelihood(dwell, pointOf(took, i) - pointOf(molds, k))
    }
  }
  return sum / POINTS ** 2
}

// Within a pour of some dozen molds and a load of as many, more points change nothing.
const POINTS = 8

function pointOf({ from, until }: Spell, i: number): number {
  return from + ((until - from) * (i + 0.5)) / POINTS
}

function minutesOf(clock: LineClock, { from, at }: Took): Spell {
  return { from: clock.runningAt(from) / MINUTE, until: clock.runningAt(at) / MINUTE }
}

/** Dwells of the molds at the seams between the pours of a load, taken to come out in order. */
function seamsOf(clock: LineClock, load: Example, unit: LineUnit): number[] {
  const took = tookAt(clock, load, unit)
  const all = load.parts.reduce((sum, { castings }) => sum + castings, 0)
  if (!took || all === 0) return []
  const parts = load.parts.flatMap(({ poured, count, castings }) => {
    const molds = pouredAt(clock, poured, count, unit)
    return molds ? [{ molds, castings }] : []
  })
  if (parts.length < load.parts.length) return []
  parts.sort((a, b) => a.molds.from - b.molds.from)
  const seams: number[] = []
  let out = 0
  for (let i = 1; i < parts.length; i++) {
    out += parts[i - 1]!.castings
    const there = took.from + ((took.until - took.from) * out) / all
    const seam = (parts[i - 1]!.molds.until + parts[i]!.molds.from) / 2
    seams.push(there - seam)
  }
  return seams
}
