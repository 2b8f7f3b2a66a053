// What cells are written with: each gives ops as pairs of numbers.
import {
  KEEP,
  LAYERED,
  layering,
  OPEN,
  SET,
  SHARING,
  sharing,
  type Taken,
  TOLERANCE,
  UNKNOWN,
  WEIGHED,
  weighing,
} from './op.ts'

/** The slot of all that nobody reported. */
export const UNRECORDED = 0

/** Flat pairs: slot, amount. Above 0 is poured in from the slot, below 0 tapped into it. Whole amounts. */
export type Ops = number[]

/** First of a cell's ops: it goes on with what the vessel holds; without it mixing starts fresh. */
export const open = (vessel: number): Ops => [OPEN, vessel]

/**
 * Measured: the vessel holds `amount` from now on. More than the book says by up to `tolerance` is
 * the same stuff weighed better, by more it is unrecorded; less was drawn as it was; 0 is emptied.
 * `spread` is the standard deviation of the measurement; unsaid, a third of the tolerance.
 */
export const set = (amount: number, tolerance = 0, spread = tolerance / 3): Ops => [
  ...(amount > 0 && tolerance > 0 ? weighed({ single: spread / amount, scale: 0, shared: 0 }) : []),
  ...(tolerance > 0 ? [TOLERANCE, tolerance] : []),
  SET,
  amount,
]

/** Anything from nothing to all of what the vessel holds was kept. */
export const keep = (): Ops => [KEEP, 0]

/** Nobody reported the vessel empty: up to `assumed` of unrecorded stuff may be in it. */
export const unknown = (assumed: number): Ops => [UNKNOWN, assumed]

/**
 * Nothing mixes in the vessel: what is tapped is of some of what was put in, and nobody knows of which.
 * Best takes it as mixed. After `turnover` fulls of the vessel what was put in is gone; 0, never. `taken` is
 * the order that is said to be kept; by choice, none that has to do with when it came.
 */
export const layered = (turnover = 0, taken: Taken = 'anyhow'): Ops => [
  LAYERED,
  layering(turnover, taken),
]

/** How an amount was weighed; spreads are standard deviations as parts of it. */
export interface Weighing {
  /** Of this weighing alone. */
  single: number
  /** Number of the scale, 1 to SHARED, and the error all its weighings share; 0 for none. */
  scale: number
  shared: number
}

/** How the amounts that follow in the cell were weighed. */
export const weighed = ({ single, scale, shared }: Weighing): Ops => [
  WEIGHED,
  weighing(single, scale, shared),
]

/** An error that the next amount shares with all others of this cause, such as what a lot yields. */
export const shares = (spread: number, cause: number): Ops =>
  spread > 0 ? [SHARING, sharing(spread, cause & 1023)] : []
