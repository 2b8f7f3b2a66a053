// Castings looked at, as rows: the looks, what was found, and what each lot of castings was made of.
import { momentText } from '../../events/moment.ts'
import type { View } from '../../metal/followed.ts'
import type { Makeup } from '../../stats/causes/table.ts'
import type { AnalyticsRows } from '../../store/analytics.ts'
import { type DefectQuestion, type LookedAt, lookedAt } from '../causes/looked-at.ts'
import { inspectionsOf } from '../rates/points.ts'

type LookTables = Pick<
  AnalyticsRows,
  'unit' | 'look' | 'look_defect' | 'look_unit' | 'look_handling'
>

const ALWAYS = { from: Number.NEGATIVE_INFINITY, to: Number.POSITIVE_INFINITY }

export function lookRows(view: View, plant: string): LookTables {
  const stages = new Set(
    view.book
      .all('inspected', view.asOf)
      .filter(({ fact }) => view.things.plant(fact.of) === plant)
      .map(({ fact }) => fact.stage),
  )
  const tables: LookTables = {
    unit: [],
    look: [],
    look_defect: [],
    look_unit: [],
    look_handling: [],
  }
  for (const stage of [...stages].sort()) {
    const looked = lookedAt(view, plant, { stage, window: ALWAYS })
    // Of all stages the same units, with the same numbers.
    tables.unit = unitsOf(view, plant, looked)
    addStage(tables, view, plant, { stage, window: ALWAYS }, looked)
  }
  return tables
}

function unitsOf(view: View, plant: string, { units }: LookedAt): LookTables['unit'] {
  return units.flatMap(({ pour, product, cavity }, unit) =>
    view.things.plant(pour) === plant
      ? [{ plant, unit, pour: view.things.name(pour), product, cavity }]
      : [],
  )
}

function addStage(
  tables: LookTables,
  view: View,
  plant: string,
  about: DefectQuestion,
  { rows, steps, inspected }: LookedAt,
): void {
  const { stage } = about
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
    for (const [n, unit, part] of partsOf(inspected.makeups[0]!, place))
      tables.look_unit.push({ ...of, n, unit, part })
    for (const [s, { step, handlings }] of steps.entries())
      for (const [n, handling, part] of partsOf(inspected.makeups[s + 1]!, place)) {
        const { load, machine } = handlings[handling]!
        tables.look_handling.push({ ...of, step, n, load: view.things.name(load), machine, part })
      }
  }
}

function* partsOf(
  { start, unit, part }: Makeup,
  row: number,
): Iterable<[n: number, unit: number, part: number]> {
  for (let i = start[row]!; i < start[row + 1]!; i++) yield [i - start[row]!, unit[i]!, part[i]!]
}
