// Castings looked at and castings shipped, as rows: how many, what was found, and of what they were made.
import { momentText } from '../../events/moment.ts'
import type { View } from '../../metal/followed.ts'
import type { Makeup } from '../../stats/causes/table.ts'
import type { AnalyticsRows } from '../../store/analytics.ts'
import { type DefectQuestion, type LookedAt, lookedAt } from '../causes/looked-at.ts'
import { everythingShipped } from '../rates/market.ts'
import { inspectionsOf } from '../rates/points.ts'

type LookTables = Pick<AnalyticsRows, 'look' | 'look_defect' | 'look_unit' | 'look_handling'>

const ALWAYS = { from: Number.NEGATIVE_INFINITY, to: Number.POSITIVE_INFINITY }

export function lookRows(view: View, plant: string): LookTables {
  const stages = new Set(
    view.book
      .all('inspected', view.asOf)
      .filter(({ fact }) => view.things.plant(fact.of) === plant)
      .map(({ fact }) => fact.stage),
  )
  const tables: LookTables = {
    look: [],
    look_defect: [],
    look_unit: [],
    look_handling: [],
  }
  for (const stage of [...stages].sort()) {
    const about = { stage, window: ALWAYS }
    addStage(tables, view, plant, about, lookedAt(view, plant, about))
  }
  return tables
}

/** What left the plant, and of what it was made; and all units, which have the same numbers whatever is looked at. */
export function shippedRows(view: View, plant: string): ShippedTables {
  const { looked, lines } = everythingShipped(view, plant)
  const of = lines.map((_, place) => ({ plant, place }))
  return {
    unit: looked.units.flatMap(({ pour, product, cavity }, unit) =>
      view.things.plant(pour) === plant
        ? [{ plant, unit, pour: view.things.name(pour), product, cavity }]
        : [],
    ),
    shipped: lines.map(({ pack, product, at, castings, part }, place) => ({
      ...{ ...of[place]!, pack: view.things.name(pack), product, shipped_at: momentText(at) },
      ...{ castings, part },
    })),
    shipped_unit: of.flatMap((one) => unitsAt(looked, one)),
    shipped_handling: of.flatMap((one) => handlingsAt(view, looked, one)),
  }
}

type ShippedTables = Pick<AnalyticsRows, 'unit' | 'shipped' | 'shipped_unit' | 'shipped_handling'>

function addStage(
  tables: LookTables,
  view: View,
  plant: string,
  about: DefectQuestion,
  looked: LookedAt,
): void {
  const { stage } = about
  const { rows } = looked
  for (const [place, { inspection }] of inspectionsOf(view, about, rows)) {
    const { at, product, castings, defective, things } = rows[place]!
    const of = { plant, stage, place }
    tables.look.push({
      ...{ ...of, inspection, looked_at: momentText(at), castings, defective },
      product: product === '' ? null : product,
    })
    const found = new Map<string, number>()
    for (const { fact } of view.book.of(things[0]!, 'defect-found', view.asOf))
      if (fact.inspection === inspection)
        found.set(fact.defect, (found.get(fact.defect) ?? 0) + fact.castings)
    for (const [defect, count] of found) tables.look_defect.push({ ...of, defect, castings: count })
    tables.look_unit.push(...unitsAt(looked, of))
    tables.look_handling.push(...handlingsAt(view, looked, of))
  }
}

/** Of the row at this place. */
function unitsAt<T extends { place: number }>({ inspected }: LookedAt, of: T) {
  return [...partsOf(inspected.makeups[0]!, of.place)].map(([n, unit, part]) => ({
    ...{ ...of, n, unit, part },
  }))
}

function handlingsAt<T extends { place: number }>(
  view: View,
  { steps, inspected }: LookedAt,
  of: T,
) {
  return steps.flatMap(({ step, handlings }, s) =>
    [...partsOf(inspected.makeups[s + 1]!, of.place)].map(([n, handling, part]) => {
      const { load, machine } = handlings[handling]!
      return { ...of, step, n, load: view.things.name(load), machine, part }
    }),
  )
}

function* partsOf(
  { start, unit, part }: Makeup,
  row: number,
): Iterable<[n: number, unit: number, part: number]> {
  for (let i = start[row]!; i < start[row + 1]!; i++) yield [i - start[row]!, unit[i]!, part[i]!]
}
