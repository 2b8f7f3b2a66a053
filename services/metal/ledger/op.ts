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
/** Head of a cell that mixes from nothing; vessel v has the head FRESH - 1 - v. */
export const FRESH = -16

/** Vessel of a head, below 0 where mixing starts fresh. */
export const vesselOf = (head: number): number => FRESH - 1 - head

/** Head of a cell in this vessel; below 0 for none. */
export const headOf = (vessel: number): number => FRESH - 1 - vessel
