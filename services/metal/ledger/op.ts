// The language of the pool: pairs (slot, amount). A slot of 0 or more is poured in (amount > 0) or
// tapped into (amount < 0). Below 0 stand the control codes, and from FRESH downwards the heads:
// a head opens a cell, its amount is the cell. Every reader of the pool knows these words and no more.

/** The tolerance of the SET that follows. */
export const TOLERANCE = -1
/** Measured: the vessel holds this from now on. */
export const SET = -2
/** Anything from nothing to all of what the vessel holds was kept. */
export const KEEP = -3
/** Up to this much of unrecorded stuff may have been in the vessel. */
export const UNKNOWN = -4
/** Only in what is handed to `write`: the cell continues this vessel. */
export const OPEN = -5
/** Where the version before this one lies among the old ones. */
export const OLDER = -6
/** Only in a sweep made to be looked at: note mass and share under this number. */
export const PEEK = -7
/** How the amounts that follow in the cell were weighed; packed, see `weighing`. */
export const WEIGHED = -8
/** An error the next amount shares with others; packed, see `sharing`. */
export const SHARING = -9
/** Nothing mixes in the vessel; packed, see `layering`. */
export const LAYERED = -10
/** Head of a cell that mixes from nothing; vessel v has the head FRESH - 1 - v. */
export const FRESH = -16

/** Vessel of a head, below 0 where mixing starts fresh. */
export const vesselOf = (head: number): number => FRESH - 1 - head

/** Head of a cell in this vessel; below 0 for none. */
export const headOf = (vessel: number): number => FRESH - 1 - vessel

// A spread stands as one of 128 classes, 7 % apart, from a ten-thousandth to two thirds.
const CLASS_BITS = 7
const CLASSES = 1 << CLASS_BITS
/** Spread of each class, as a part of the amount; class 0 is none. */
export const SPREADS: Float64Array = Float64Array.from({ length: CLASSES }, (_, k) =>
  k === 0 ? 0 : 1e-4 * 2 ** (k / 10),
)

const classOf = (spread: number): number =>
  spread <= 0 ? 0 : Math.min(CLASSES - 1, Math.max(1, Math.round(10 * Math.log2(spread / 1e-4))))

/** Amount of WEIGHED: spread of the single weighing, and one that all weighings of the scale share. */
export const weighing = (single: number, scale: number, shared: number): number =>
  classOf(single) | (classOf(shared) << CLASS_BITS) | (scale << (2 * CLASS_BITS))
export const singleOf = (packed: number): number => SPREADS[packed & (CLASSES - 1)]!
export const sharedOf = (packed: number): number => SPREADS[(packed >> CLASS_BITS) & (CLASSES - 1)]!
export const scaleOf = (packed: number): number => packed >> (2 * CLASS_BITS)

/** Amount of SHARING: a spread and its cause. */
export const sharing = (spread: number, cause: number): number =>
  classOf(spread) | (cause << CLASS_BITS)
export const causeOf = (packed: number): number => packed >> CLASS_BITS

/** In which order what lies in layers is said to be taken; by choice, in none that has to do with when it came. */
export const TAKEN = {
  anyhow: 0,
  'first in first out': 1,
  'last in first out': 2,
  'by choice': 3,
} as const
export type Taken = keyof typeof TAKEN

/** Amount of LAYERED: how many fulls of the vessel later what was put in is gone, 0 for never, and the order. */
export const layering = (turnover: number, taken: Taken): number =>
  (Math.round(1000 * turnover) << 2) | TAKEN[taken]
/** In thousandths of a full. */
export const turnoverOf = (packed: number): number => packed >> 2
export const takenOf = (packed: number): number => packed & 3
