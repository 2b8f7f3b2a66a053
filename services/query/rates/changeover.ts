// How metal passes from one group to the next: whose was poured, day by day, beside the rate of the day.
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import type { LookedAt } from '../causes/looked-at.ts'
import type { InMetal } from './in-metal.ts'
import { dayOf } from './plant-time.ts'

/** The GraphQL object Changeover: inner lists have one entry a day. */
export interface Changeover {
  days: string[]
  groups: string[]
  share: number[][]
  kg: number[]
  castings: number[]
  defective: number[]
}

/** From the first to the last day on which castings that were looked at were poured. */
export function changeover(
  view: View,
  plant: string,
  looked: LookedAt,
  metal: readonly InMetal[],
): Changeover {
  const found = countByDay(view, looked)
  const known = [...found.keys()].sort()
  const [first = '', last = ''] = [known[0], known.at(-1)]
  const poured = new Map<string, { grams: number; of: number[] }>()
  for (const { no, grams } of view.castings.pours()) {
    const day = dayOfPour(view, no)
    if (day === undefined || day < first || day > last || view.things.plant(no) !== plant) continue
    const one = kept(poured, day, () => ({ grams: 0, of: metal.map(() => 0) }))
    one.grams += grams
    for (const [g, { byPour }] of metal.entries()) one.of[g]! += grams * (byPour.get(no) ?? 0)
  }
  const days = [...poured]
    .filter(([, { grams }]) => grams > 0)
    .map(([day]) => day)
    .sort()
  const at = (day: string) => poured.get(day)!
  const count = (day: string) => found.get(day) ?? { castings: 0, defective: 0 }
  return {
    days,
    groups: metal.map(({ name }) => name),
    share: metal.map((_, g) => days.map((day) => Math.min(1, at(day).of[g]! / at(day).grams))),
    kg: days.map((day) => at(day).grams / 1000),
    castings: days.map((day) => count(day).castings),
    defective: days.map((day) => count(day).defective),
  }
}

/** Castings looked at by the day they were poured; of those nobody recorded a day nothing. */
function countByDay(view: View, { rows, units, inspected }: LookedAt) {
  const { start, unit, part } = inspected.makeups[0]!
  const found = new Map<string, { castings: number; defective: number }>()
  for (const [row, { castings, defective }] of rows.entries())
    for (let i = start[row]!; i < start[row + 1]!; i++) {
      const day = dayOfPour(view, units[unit[i]!]!.pour)
      if (day === undefined) continue
      const one = kept(found, day, () => ({ castings: 0, defective: 0 }))
      one.castings += castings * part[i]!
      one.defective += defective * part[i]!
    }
  return found
}

export function dayOfPour(view: View, pour: number): string | undefined {
  const poured = view.book.of(pour, 'poured', view.asOf)[0]?.fact
  return poured && dayOf(poured)
}
