// From when to when the castings of each group were made.
import type { Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import type { LookedAt } from '../causes/looked-at.ts'
import type { Split } from './split.ts'

interface Stretch {
  from: Ms
  to: Ms
}

/** By name of the group; those of which nobody recorded a moment are not there. */
export function stretchesOf(
  view: View,
  looked: LookedAt,
  { makeup, groups }: Split,
): Map<string, Stretch> {
  const times = timesOf(view, looked, makeup)
  const stretches = new Map<string, Stretch>()
  for (const unit of new Set(looked.inspected.makeups[makeup]!.unit)) {
    const [name, at] = [groups[unit], times[unit]]
    if (name === undefined || at === undefined) continue
    const known = stretches.get(name)
    stretches.set(name, {
      from: Math.min(at, known?.from ?? at),
      to: Math.max(at, known?.to ?? at),
    })
  }
  return stretches
}

/** When each unit of a makeup was poured or handled; undefined where nobody recorded it. */
function timesOf(view: View, { units, steps }: LookedAt, makeup: number): (Ms | undefined)[] {
  if (makeup > 0) return steps[makeup - 1]!.handlings.map(({ from }) => from)
  const times = new Map<number, Ms | undefined>()
  return units.map(({ pour }) =>
    kept(times, pour, () => view.book.of(pour, 'poured', view.asOf)[0]?.fact.from),
  )
}
