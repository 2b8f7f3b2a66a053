// In which order a yard uses what it has. Of what lies in layers nobody says which layer was taken; of lots that lie
// apart every charge does, and the same people load both.
import type { Orders } from './doubt.ts'
import type { View } from './followed.ts'
import { kept, listed } from './kept.ts'

/** So many of the newest lots tell how it is done now. */
const NEWEST = 300
/** Common practice, no source: a bay is kept as lots are in three plants of four, and in the fourth anyhow. */
const ALIKE = 3 / 4

type Known = Pick<View, 'book' | 'things' | 'asOf'>

const habits = new WeakMap<Known, Map<string, Orders>>()

/** How likely what lies in layers is taken first in first out, mixed, or last in first out. */
export function ordersOf(view: Known, plant: string): Orders {
  const known = kept(habits, view, () => new Map<string, Orders>())
  return kept(known, plant, () => {
    const seen = seenOrders(view, plant)
    // The rule of succession: each as if seen once before.
    const all = seen.first + seen.mixed + seen.last + 3
    const chance = (times: number) => (1 - ALIKE) / 3 + (ALIKE * (times + 1)) / all
    return { first: chance(seen.first), mixed: chance(seen.mixed), last: chance(seen.last) }
  })
}

/** How often the oldest lot of those not begun was begun, how often the newest, and how often one between. */
function seenOrders(view: Known, plant: string): Orders {
  const seen = { first: 0, mixed: 0, last: 0 }
  for (const lots of byMaterial(view, plant)) {
    for (const { received, begun } of lots) {
      if (begun === undefined) continue
      const others = lots.filter(
        (lot) => lot.received <= begun && (lot.begun === undefined || lot.begun > begun),
      )
      if (others.length === 0) continue
      const older = others.some((lot) => lot.received < received)
      const newer = others.some((lot) => lot.received > received)
      if (!older) seen.first++
      else if (!newer) seen.last++
      else seen.mixed++
    }
  }
  return seen
}

interface Lot {
  received: number
  /** First charged; absent, not yet. */
  begun: number | undefined
}

function byMaterial({ book, things, asOf }: Known, plant: string): Iterable<Lot[]> {
  const found = new Map<string, Lot[]>()
  const receipts = book
    .all('lot-received', asOf)
    .map(({ fact }) => fact)
    .filter(({ of, role }) => role === 'metallic' && things.plant(of) === plant)
    .sort((a, b) => b.at - a.at)
  for (const { of, at, material, via } of receipts.slice(0, NEWEST)) {
    if (via !== undefined || book.other(of, 'bin-filled', asOf).length > 0) continue
    const lines = book.other(of, 'charge-line', asOf).map(({ fact }) => fact.at)
    const begun = lines.length > 0 ? lines.reduce((a, b) => Math.min(a, b)) : undefined
    listed(found, material).push({ received: at, begun })
  }
  return found.values()
}
