// All that a packed casting may be made of and came through, without how much of it: what an answer about
// it rests on. What sweeps tell in numbers is asked in origins.ts.
import type { View } from './followed.ts'
import { kept } from './kept.ts'
import { heatsOfPour, ladleOfPour } from './poured-from.ts'

export interface Upstream {
  pours: ReadonlySet<number>
  /** Pours, and all that their castings and their metal came through. */
  things: ReadonlySet<number>
}

/** Of a pack, pan or load; undefined when nobody knows of any casting of it. */
export function upstreamOf(view: View, no: number): Upstream | undefined {
  const castings = view.castings.upstreamOf(no)
  if (!castings) return undefined
  const { pours, loads } = castings
  const things = new Set([...pours, ...loads, ...metalOf(view, pours)])
  for (const pour of pours) for (const thing of aroundPour(view, pour)) things.add(thing)
  return { pours, things }
}

/** Molds, sand, ladle and heats of a pour. */
export function* aroundPour(view: View, pour: number): Iterable<number> {
  for (const { molds, sand } of view.castings.moldsOf(pour)) {
    yield molds
    if (sand !== undefined) yield sand
  }
  const ladle = ladleOfPour(view, pour)
  if (ladle !== undefined) yield ladle
  for (const { heat } of heatsOfPour(view, pour)) yield heat
}

/** By pours together: packs of one load share them. */
const metal = new WeakMap<View, Map<string, readonly number[]>>()
const MOST_KEPT = 500

/** Things of the metal ledger that metal of some pours passed. */
function metalOf(view: View, pours: ReadonlySet<number>): readonly number[] {
  const found = kept(metal, view, () => new Map<string, readonly number[]>())
  const key = [...pours].sort((a, b) => a - b).join(' ')
  return kept(found, key, () => {
    if (found.size >= MOST_KEPT) found.clear()
    const parts = [...pours].flatMap((pour) => view.melt.pourParts(pour, view.asOf))
    const { through } = view.melt.ledger.backward(
      parts.map(({ slot, molds }): [number, number] => [slot, molds]),
      { asOf: view.asOf },
    )
    const { nos, slots } = kept(slotted, view, () => slotsIn(view))
    return nos.filter((_, i) => through[slots[i]!]! > 0)
  })
}

interface Slotted {
  nos: number[]
  slots: number[]
}

const slotted = new WeakMap<View, Slotted>()

function slotsIn(view: View): Slotted {
  const found: Slotted = { nos: [], slots: [] }
  for (const [no, slot] of view.melt.slots()) {
    found.nos.push(no)
    found.slots.push(slot)
  }
  return found
}
