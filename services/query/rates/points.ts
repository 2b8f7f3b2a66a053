// Castings looked at as points of a chart, in the order they were made.
import type { FactOf, Ms } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { compareTexts } from '../../metal/things.ts'
import type { DefectQuestion, LookedAt, Row } from '../causes/looked-at.ts'
import { LEAST_PART } from './count.ts'
import { dayOf, shiftOf, weekOf } from './plant-time.ts'
import { behindAll } from './split.ts'

/** One entry a point in every list. */
export interface Points {
  at: Ms[]
  name: string[]
  castings: number[]
  defective: number[]
  /** Several on one casting count each. */
  defects: number[]
}

export type PointPer = 'INSPECTION' | 'SHIFT' | 'DAY' | 'WEEK' | 'HEAT'

interface Point {
  at: Ms
  castings: number
  defective: number
  defects: number
}

/** Castings of which nobody recorded where they belong are in no point. */
export function pointsOf(
  view: View,
  about: DefectQuestion,
  looked: LookedAt,
  { per, shifts }: { per: PointPer; shifts: readonly string[] },
): Points {
  const { rows, units, inspected } = looked
  const { start, unit, part } = inspected.makeups[0]!
  const defects = defectsFound(view, about, rows)
  const points = new Map<string, Point>()
  const add = (name: string, at: Ms, row: number, share: number) => {
    const point = points.get(name) ?? { at, castings: 0, defective: 0, defects: 0 }
    points.set(name, point)
    point.at = Math.min(point.at, at)
    point.castings += rows[row]!.castings * share
    point.defective += rows[row]!.defective * share
    point.defects += defects[row]! * share
  }
  const behind = behindAll(view, units)
  for (const [row, { at, inspection }] of inspectionsOf(view, about, rows)) {
    if (per === 'INSPECTION') add(`inspection:${inspection}`, at, row, 1)
    else
      for (let i = start[row]!; i < start[row + 1]!; i++) {
        const { poured, heat } = behind.get(units[unit[i]!]!.pour)!
        if (!poured || part[i]! < LEAST_PART) continue
        const name =
          per === 'HEAT'
            ? heat === undefined
              ? undefined
              : view.things.name(heat)
            : timeName(poured, per, shifts)
        if (name !== undefined) add(name, poured.from, row, part[i]!)
      }
  }
  const inOrder = [...points].sort(
    ([a, one], [b, other]) => one.at - other.at || compareTexts(a, b),
  )
  const column = (of: (point: Point) => number) => inOrder.map(([, point]) => of(point))
  return {
    at: column(({ at }) => at),
    name: inOrder.map(([name]) => name),
    castings: column(({ castings }) => castings),
    defective: column(({ defective }) => defective),
    defects: column(({ defects: found }) => found),
  }
}

function timeName(
  poured: FactOf<'poured', number>,
  per: 'SHIFT' | 'DAY' | 'WEEK',
  shifts: readonly string[],
): string {
  const day = dayOf(poured)
  if (per === 'WEEK') return weekOf(day)
  return per === 'DAY' ? day : `${day} ${shiftOf(poured, shifts)}`
}

/** Rows with the number of their inspection. */
export function* inspectionsOf(
  view: View,
  { stage }: DefectQuestion,
  rows: readonly Row[],
): Iterable<[row: number, { at: Ms; inspection: string }]> {
  const taken = new Set<string>()
  for (const [row, { at, things, castings }] of rows.entries()) {
    // Of several of the same things at the same moment, each row is another.
    const found = view.book
      .of(things[0]!, 'inspected', view.asOf)
      .find(
        ({ fact }) =>
          fact.at === at &&
          fact.stage === stage &&
          fact.castings === castings &&
          !taken.has(fact.inspection),
      )!
    taken.add(found.fact.inspection)
    yield [row, { at, inspection: found.fact.inspection }]
  }
}

function defectsFound(view: View, about: DefectQuestion, rows: readonly Row[]): number[] {
  const found: number[] = []
  for (const [row, { inspection }] of inspectionsOf(view, about, rows)) {
    const { things, defective } = rows[row]!
    const counted = view.book
      .of(things[0]!, 'defect-found', view.asOf)
      .filter(({ fact }) => fact.inspection === inspection)
      .filter(({ fact }) => !about.defects || about.defects.includes(fact.defect))
      .reduce((sum, { fact }) => sum + fact.castings, 0)
    found.push(Math.max(counted, defective))
  }
  return found
}
