import { type Ms, STEPS, type Step } from '../../events/fact.ts'

/** Place in the order in which castings move: by moment, then by what comes first of one moment. */
export interface Rank {
  at: Ms
  tie: number
}

/** What comes first of one moment: castings are put somewhere before they are taken from there. */
const TURN = {
  ended: 1,
  instant: 2,
  begun: 3,
  packed: 4,
  looked: 5,
  repacked: 6,
  shipped: 7,
  returned: 8,
}

interface Spell {
  /** Of the load, see tieOfThing. */
  tie: number
  step: Step
  pass: number
  from: Ms
  at: Ms
}

export function compareRanks(a: Rank, b: Rank): number {
  return a.at - b.at || a.tie - b.tie
}

/** When a handling takes castings. */
export function beginOf(spell: Spell): Rank {
  const turn = spell.from < spell.at ? TURN.begun : TURN.instant
  return { at: spell.from, tie: tieOf(turn, spell.tie, spell, 0) }
}

/** When a handling lets go of castings. */
export function endOf(spell: Spell): Rank {
  const turn = spell.from < spell.at ? TURN.ended : TURN.instant
  return { at: spell.at, tie: tieOf(turn, spell.tie, spell, 1) }
}

export function rankOf(
  turn: 'packed' | 'looked' | 'repacked' | 'shipped' | 'returned',
  at: Ms,
  tie: number,
): Rank {
  return { at, tie: tieOf(TURN[turn], tie, undefined, 0) }
}

/** Before everything that moves. */
export const POURED: Rank = { at: Number.NEGATIVE_INFINITY, tie: 0 }

// Turn, step, pass, thing, end: 4 + 4 + 6 + 32 + 1 bits, and exact below 53.
function tieOf(turn: number, tie: number, spell: Spell | undefined, end: 0 | 1): number {
  const step = spell ? STEPS.indexOf(spell.step) : 0
  const pass = Math.min(spell?.pass ?? 0, 63)
  return ((turn * 16 + step) * 64 + pass) * 2 ** 33 + tie * 2 + end
}
