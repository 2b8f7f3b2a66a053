// How likely what was found is with a cause at work, while heats, sand, loads and hours have luck of their
// own. Every candidate is fitted together with that luck and held against the same null, so that evidence
// of one may be weighed against that of another.
//
// Log odds of a row are those of its stratum, the luck of its groups by its parts, and the effect. Luck is
// normal with known variances: a generalized linear mixed model, fitted by penalized quasi-likelihood
// (from memory: Breslow and Clayton, 1993).
import { normalAbove } from '../distributions.ts'
import { believing, type Exposure, surely } from './guesses.ts'
import type { Looked } from './likelihood.ts'
import { Covariance, dot, type Shared } from './shared.ts'
import { System } from './solve.ts'

/** A cause multiplies odds by e^b, b anywhere from log 1.5 to 3: smaller ones cannot be told. */
export const CAUSE_FROM = Math.log(1.5)
export const CAUSE_UNTIL = 3
/** Scoring goes on until it gains less than this, at most so many rounds; steps that lose are shortened. */
const NEAR = 0.05
const ROUNDS = 12
const LEAST_STEP = 0.1
/** Farther a size is not taken, in one round and in all. */
const LEAP = 1.5
const LARGEST = 3.6
/** Variance of the log odds of strata around their rate: as good as free. */
const FREE = 1
const LEAST = 1e-9

/** What fits best. */
export interface Fitted {
  /** Logarithm of the likelihood of what was found and of the luck. */
  log: number
  b: number
  /** Of b: one over its variance. */
  information: number
  /** What the covariance of rows takes to the effect: where the next fit may start from. */
  solved: Float64Array
  state: State
}

/** What luck and stratum add to the log odds of each row: the covariance of rows times `luck`. */
interface State {
  b: number
  offset: Float64Array
  luck: Float64Array
}

export interface Score {
  b: number
  information: number
  /** The exposure where nothing is unknown, and the same weighed by the luck of the rows. */
  known: Float64Array
  solved: Float64Array
}

export class Luck {
  readonly #looked: Looked
  readonly #base: Float64Array
  readonly #covariance: Covariance
  /** Nothing but luck. */
  readonly none: Fitted
  /** Rows by their weights there, and what was found beyond it. */
  readonly #system: System
  readonly #beyond: Float64Array

  /** `base` chances of rows with nothing at work, and variances of groupings. */
  constructor(
    looked: Looked,
    shared: Shared,
    base: Float64Array,
    components: Float64Array,
    like?: Luck,
  ) {
    this.#looked = looked
    this.#base = base.map((chance) => Math.log(clamp(chance) / (1 - clamp(chance))))
    const variance = Float64Array.from(shared.of, (g) => (g < 0 ? FREE : components[g]!))
    this.#covariance = new Covariance(shared, variance)
    const luck = like?.none.state.luck ?? new Float64Array(base.length)
    this.none = this.#fit(undefined, this.#stateOf(0, luck), new Float64Array(base.length))
    const rows = this.#rowsAt(undefined, this.none.state)
    this.#system = new System(this.#covariance, rows.root)
    this.#beyond = rows.beyond
  }

  /**
   * With a cause at work in these parts of rows, and how much that gains over luck alone; rows of which it is
   * neither known nor guessed are left out of both. Of a dose each casting has so much; else a part of the castings is exposed.
   * `solved` is nearly what the effect is taken to.
   */
  fit(
    exposure: Exposure,
    dosed: boolean,
    solved: Float64Array,
    like?: Fitted,
  ): Fitted & { gain: number } {
    const { likely } = exposure
    const none = likely.some(Number.isNaN)
      ? this.#fit(
          surely(likely.map((x) => 0 * x)),
          this.none.state,
          new Float64Array(likely.length),
          false,
          false,
        )
      : this.none
    const starts = [none.state, ...(like ? [this.#stateOf(like.b, like.state.luck)] : [])]
    const logs = starts.map((start) => this.#rowsAt(exposure, start, dosed).log)
    const start = starts[logs.indexOf(Math.max(...logs))]!
    const fitted = this.#fit(exposure, start, solved, dosed)
    return { ...fitted, gain: fitted.log - none.log }
  }

  #stateOf(b: number, luck: Float64Array): State {
    return { b, luck, offset: this.#covariance.times(luck, new Float64Array(luck.length)) }
  }

  /** A first estimate of an effect in these parts of rows, NaN where that is not known: of large ones too large. */
  score({ likely }: Exposure): Score {
    const known = knownOf(likely)
    const solved = this.#system.solve(known, new Float64Array(known.length))
    const information = dot(known, solved)
    const b = information > 0 ? dot(known, this.#beyond) / information : 0
    return { b, information, known, solved }
  }

  #fit(
    x: Exposure | undefined,
    start: State,
    solved: Float64Array,
    dosed = false,
    free = x !== undefined,
  ): Fitted {
    let now = start
    let rows = this.#rowsAt(x, now, dosed)
    let information = 0
    let p = solved
    for (let round = 0; round < ROUNDS; round++) {
      const { root, effect, response } = rows
      for (let r = 0; r < root.length; r++) response[r]! += now.offset[r]! + effect[r]! * now.b
      const system = new System(this.#covariance, root)
      if (free) p = system.solve(effect, p)
      // Where nothing moves any more, luck is what is left of this.
      const guess = now.luck.map((each, r) => each + now.b * p[r]!)
      const q = system.solve(response, guess)
      let b = 0
      if (free) {
        information = dot(effect, p)
        const best = information > 0 ? dot(effect, q) / information : 0
        b = between(-LARGEST, between(now.b - LEAP, best, now.b + LEAP), LARGEST)
      }
      const luck = q.map((each, r) => each - b * p[r]!)
      const next = this.#stateOf(b, luck)
      const before = rows.log
      for (let step = 1; step > LEAST_STEP; step /= 2) {
        const tried = towards(now, next, step)
        const rowsThere = this.#rowsAt(x, tried, dosed)
        // Neither does a step that goes too far to be worked out.
        if (!(rowsThere.log >= before)) continue
        now = tried
        rows = rowsThere
        break
      }
      if (rows.log - before < NEAR) break
    }
    return { log: rows.log, b: now.b, information, solved: p, state: now }
  }

  #believing(x: Exposure, offset: Float64Array, times: number) {
    const { castings, defective } = this.#looked
    return believing(x, (r, exposed) => {
      const { chance } = mixedAt(Math.exp(this.#base[r]! + offset[r]!), times, exposed)
      return defective[r]! * Math.log(chance) + (castings[r]! - defective[r]!) * Math.log1p(-chance)
    })
  }

  /**
   * Rows in a state: roots of their weights, how far the size moves their log odds, what was found beyond the
   * expected on the scale of log odds and as a score; and the logarithm of the likelihood.
   */
  #rowsAt(x: Exposure | undefined, { b, offset, luck }: State, dosed = false) {
    const { castings, defective } = this.#looked
    const rows = castings.length
    const [root, effect] = [new Float64Array(rows), new Float64Array(rows)]
    const [response, beyond] = [new Float64Array(rows), new Float64Array(rows)]
    const times = Math.exp(b)
    const believed = x && this.#believing(x, offset, times)
    let log = believed?.log ?? 0
    for (let r = 0; r < rows; r++) {
      const part = believed ? believed.exposed[r]! : 0
      if (Number.isNaN(part) || castings[r]! <= 0) {
        root[r] = LEAST
        continue
      }
      const odds = Math.exp(this.#base[r]! + offset[r]!)
      const { chance, slope, slopeAll } = dosed
        ? dosedAt(odds, times, part)
        : mixedAt(odds, times, part)
      const variance = chance * (1 - chance)
      const n = castings[r]!
      const y = defective[r]!
      root[r] = slope * Math.sqrt(n / variance)
      effect[r] = slopeAll / slope
      response[r] = (y / n - chance) / slope
      beyond[r] = ((y - n * chance) * slope) / variance
      log += y * Math.log(chance) + (n - y) * Math.log1p(-chance)
    }
    return { root, effect, response, beyond, log: log - 0.5 * dot(luck, offset) }
  }
}

/**
 * Logarithm of how much likelier what was found is with a cause than with luck alone: the gain at its most
 * likely size, less what a cause that may be of any size gives away.
 */
export function logBayes(gain: number, b: number, information: number): number {
  if (!(information > 0)) return Number.NEGATIVE_INFINITY
  const root = Math.sqrt(information)
  const within = normalAbove((CAUSE_FROM - b) * root) - normalAbove((CAUSE_UNTIL - b) * root)
  const width = (CAUSE_UNTIL - CAUSE_FROM) * root
  return gain + Math.log((Math.sqrt(2 * Math.PI) * within) / width + Number.MIN_VALUE)
}

/** What is not known is taken to be as it was before and after: rows follow each other in time. */
function knownOf(exposure: Float64Array): Float64Array {
  const known = Float64Array.from(exposure)
  let last = -1
  for (let r = 0; r <= known.length; r++) {
    if (r < known.length && Number.isNaN(known[r]!)) continue
    const sides = [known[last], known[r]].filter((x) => x !== undefined)
    const mean = sides.reduce((sum, x) => sum + x, 0) / (sides.length || 1)
    known.fill(mean, last + 1, r)
    last = r
  }
  return known
}

/** Of a row a part is exposed and the rest is not. */
function mixedAt(odds: number, times: number, part: number) {
  const none = odds / (1 + odds)
  const all = (odds * times) / (1 + odds * times)
  const slopeAll = part * all * (1 - all)
  return {
    chance: clamp(none + part * (all - none)),
    slope: (1 - part) * none * (1 - none) + slopeAll,
    slopeAll,
  }
}

/** Every casting of a row has so much of a dose: its odds rise in a straight line. */
function dosedAt(odds: number, times: number, dose: number) {
  const more = 1 + (times - 1) * dose
  const chance = clamp((odds * more) / (1 + odds * more))
  const slope = chance * (1 - chance)
  return { chance, slope, slopeAll: (slope * dose * times) / more }
}

function towards(from: State, to: State, step: number): State {
  if (step === 1) return to
  const mix = (a: Float64Array, b: Float64Array) => a.map((each, r) => each + step * (b[r]! - each))
  return {
    b: from.b + step * (to.b - from.b),
    offset: mix(from.offset, to.offset),
    luck: mix(from.luck, to.luck),
  }
}

function between(low: number, value: number, high: number): number {
  return Math.max(low, Math.min(high, value))
}

function clamp(chance: number): number {
  return Math.min(1 - LEAST, Math.max(LEAST, chance))
}
