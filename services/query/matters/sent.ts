// Castings that left for a customer, picked out of all there are once for each state of the record: every open
// recall asks for them, and so does each look at what waits.
import type { CastingsNode } from '../../metal/castings/places.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'

const known = new WeakMap<View, readonly CastingsNode[]>()

export function sentIn(view: View): readonly CastingsNode[] {
  return kept(known, view, () =>
    [...view.castings.nodes()].filter(
      ({ place, customer }) => place === 'SHIPPED' || customer !== undefined,
    ),
  )
}
