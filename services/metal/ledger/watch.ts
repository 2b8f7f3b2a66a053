// A vessel looked at op by op.

import {
  FRESH,
  headOf,
  KEEP,
  LAYERED,
  OLDER,
  PEEK,
  SET,
  SHARING,
  TOLERANCE,
  UNKNOWN,
  WEIGHED,
} from './op.ts'

/** A vessel after one op of one of its cells. */
export interface Level {
  /** Unit: ms, to the second. */
  at: number
  cell: number
  op: 'in' | 'out' | 'set' | 'keep' | 'unknown'
  /** Poured in from or tapped into; UNRECORDED for the rest. */
  slot: number
  /** Of the op, never below 0. */
  amount: number
  /** In the vessel after it. */
  mass: number
  /** Followed share of it. */
  share: number
}

/** What changes nothing in the vessel. */
const SILENT = new Set([TOLERANCE, OLDER, WEIGHED, SHARING, LAYERED])
const WORDS: Record<number, Level['op']> = { [SET]: 'set', [KEEP]: 'keep', [UNKNOWN]: 'unknown' }

/** The same pairs with a PEEK after each op of the vessel, and a level begun for each. */
export function watched(
  ops: Int32Array,
  end: number,
  { vessel, levels }: { vessel: number; levels: Level[] },
  seconds: Uint32Array,
): Int32Array {
  const out: number[] = []
  let cell = -1
  let watch = false
  for (let i = 0; i < end; i += 2) {
    const slot = ops[i]!
    const amount = ops[i + 1]!
    out.push(slot, amount)
    if (slot <= FRESH) {
      cell = amount
      watch = slot === headOf(vessel)
    } else if (watch && !SILENT.has(slot)) {
      const at = 1000 * seconds[cell]!
      const op = WORDS[slot] ?? (amount > 0 ? 'in' : 'out')
      out.push(PEEK, levels.length)
      levels.push({
        at,
        cell,
        op,
        slot: Math.max(slot, 0),
        amount: Math.abs(amount),
        mass: 0,
        share: 0,
      })
    }
  }
  return Int32Array.from(out)
}
