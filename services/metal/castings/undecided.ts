// Where clocks do not decide: two stations tell when castings were put into a tote and when some were
// taken from it, and minutes apart either may have come first.
import type { Ms } from '../../events/fact.ts'
import type { Flow } from './flow.ts'
import { mayBe } from './piece.ts'
import { compareRanks, type Rank } from './rank.ts'
import type { Held } from './serving.ts'
import type { Fill, Vessel } from './vessel.ts'

/** A slot, and slots of what may be in it against what clocks say. */
export interface Undecided {
  slot: number
  perhaps: number[]
}

// Common practice, no source: clocks of stations that nobody sets by one another agree within minutes.
const CLOCKS_APART: Ms = 5 * 60_000

export function* undecidedIn({ vessels }: Flow): Iterable<Undecided> {
  for (const vessel of vessels.values()) {
    if (vessel.kind !== 'tote') continue
    for (const { from, into, rank, emptied } of vessel.uses) {
      const after = vessel.fills.filter((fill) => comesSoonAfter(fill.rank, rank))
      // Put in after it, as told: it may have been there to be taken.
      if (into) yield* mayHold(into.held, putBy(after))
      if (emptied) {
        // Put in before all was taken, as told: it may have come after, and stand there still.
        const before = vessel.fills.filter((fill) => comesSoonAfter(rank, fill.rank))
        yield* mayHold(nextStanding(vessel, rank), putBy(before))
      } else if (after.length > 0 && from?.left.length === 0) {
        // All that stood there was taken, as told: with what was put in after it, some may be left.
        yield* mayHold(nextStanding(vessel, rank), from.held)
      }
    }
  }
}

function comesSoonAfter(later: Rank, earlier: Rank): boolean {
  return compareRanks(later, earlier) > 0 && later.at <= earlier.at + CLOCKS_APART
}

function nextStanding({ standings }: Vessel, after: Rank): readonly Held[] {
  return standings.find(({ rank }) => compareRanks(rank, after) > 0)?.held ?? []
}

function putBy(fills: readonly Fill[]): Held[] {
  return fills.flatMap(({ inflow }) => inflow.draws).flatMap(({ from }) => from?.held ?? [])
}

function* mayHold(held: readonly Held[], others: readonly Held[]): Iterable<Undecided> {
  for (const { piece, slot } of held) {
    const perhaps = others.filter((other) => mayBe(other.piece, piece))
    if (perhaps.length > 0) yield { slot, perhaps: perhaps.map((other) => other.slot) }
  }
}
