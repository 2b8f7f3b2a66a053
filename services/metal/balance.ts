// In against out: by lot, charge, heat, ladle, pour, handling and pack, of one thing or of a stretch of
// time. What does not add up is named; what weighing leaves open is no reason to look.
import type { Ms } from '../events/fact.ts'
import { handlingRows, packRow, pourRow } from './balance/castings.ts'
import { chargeRow, heatRows, ladleRow, lotRow, restsOf } from './balance/metal.ts'
import { type BalanceRow, isWithin, STAGES, type Stage, TOLERATED } from './balance/row.ts'
import type { View } from './followed.ts'

/** Rows of one stage together; of handlings, of one step. */
export interface BalanceSum {
  stage: Stage
  step?: string
  unit: BalanceRow['unit']
  things: number
  /** Of the things, those of which something was not weighed or counted, and those beyond weighing. */
  open: number
  beyond: number
  in: number
  out: number
  left: number
  unaccounted: number
  tolerance: number
  within: boolean
}

/** Of everything that began in a stretch of time, until not included; in the order of the work. */
export function balanceDuring(view: View, plant: string, from: Ms, until: Ms): BalanceRow[] {
  const { book, things, asOf } = view
  const during = (at: Ms) => at >= from && at < until
  const named = (...whats: Listed[]) => {
    const found = new Set<number>()
    for (const what of whats) {
      for (const { fact } of book.all(what, asOf))
        if (during(fact.at) && things.plant(fact.of) === plant) found.add(fact.of)
    }
    return [...found]
  }
  const notSeen = notSeenOf(view)
  const rests = restsOf(view)
  const furnaces = new Set<number>()
  for (const { fact } of book.all('heat-begun', asOf))
    if (during(fact.at) && things.plant(fact.of) === plant) furnaces.add(fact.via)
  const rows = [
    ...named('lot-received', 'returns-collected').map((lot) => lotRow(view, lot)),
    ...named('charge-line').map((charge) => chargeRow(view, charge)),
    ...[...furnaces].flatMap((furnace) => heatRows(view, furnace)),
    ...named('ladle-tapped').map((ladle) => ladleRow(view, ladle, rests)),
    ...named('poured').map((pour) => pourRow(view, pour, notSeen.get(pour) ?? 0)),
    ...named('load-handled').flatMap((load) => handlingRows(view, load)),
    ...named('pack-line', 'repacked').map((pack) => packRow(view, pack)),
  ]
  return rows
    .filter((row) => row !== undefined)
    .filter((row) => during(row.at))
    .sort(byWork)
}

type Listed =
  | 'lot-received'
  | 'returns-collected'
  | 'charge-line'
  | 'ladle-tapped'
  | 'poured'
  | 'load-handled'
  | 'pack-line'
  | 'repacked'

/** Of one thing, with what it was made of or became on the way; undefined for one that holds nothing. */
export function balanceOf(view: View, no: number): BalanceRow[] | undefined {
  const { book, things, asOf } = view
  const some = (...rows: (BalanceRow | undefined)[]) => rows.filter((row) => row !== undefined)
  switch (things.kind(no)) {
    case 'lot':
      return some(lotRow(view, no))
    case 'charge':
      return some(chargeRow(view, no))
    case 'heat': {
      const furnace = book.of(no, 'heat-begun', asOf)[0]?.fact.via
      const own =
        furnace === undefined ? [] : heatRows(view, furnace).filter(({ thing }) => thing === no)
      const charges = book
        .of(no, 'heat-charged', asOf)
        .map(({ fact }) => chargeRow(view, fact.other))
      const ladles = new Set(book.other(no, 'ladle-tapped', asOf).map(({ fact }) => fact.of))
      const below = [...ladles].flatMap((ladle) => balanceOf(view, ladle) ?? [])
      return [...some(...charges), ...own, ...below].sort(byWork)
    }
    case 'ladle': {
      const notSeen = notSeenOf(view)
      const pours = new Set(book.other(no, 'poured', asOf).map(({ fact }) => fact.of))
      const below = [...pours].map((pour) => pourRow(view, pour, notSeen.get(pour) ?? 0))
      return some(ladleRow(view, no, restsOf(view)), ...below)
    }
    case 'pour':
      return some(pourRow(view, no, notSeenOf(view).get(no) ?? 0))
    case 'load':
      return handlingRows(view, no)
    case 'pack':
      return some(packRow(view, no))
    default:
      return undefined
  }
}

/** Sums by stage and step. Tolerances of a stage share their scale: deviations add up. */
export function sumsOf(rows: readonly BalanceRow[]): BalanceSum[] {
  const groups = Map.groupBy(rows, ({ stage, step }) => `${stage} ${step ?? ''}`)
  return [...groups.values()].map((group) => {
    const total = (of: (row: BalanceRow) => number) => group.reduce((sum, row) => sum + of(row), 0)
    const { stage, step, unit } = group[0]!
    const unaccounted = total((row) => row.unaccounted)
    const spread = total((row) => row.spread)
    return {
      stage,
      ...(step !== undefined && { step }),
      unit,
      things: group.length,
      open: group.filter(({ open }) => open).length,
      beyond: group.filter((row) => !isWithin(row)).length,
      in: total((row) => row.in),
      out: total((row) => row.out),
      left: total((row) => row.left),
      unaccounted,
      tolerance: TOLERATED * spread,
      within: isWithin({ unaccounted, spread }),
    }
  })
}

/** By pour, thousandths of castings that no report saw again. */
function notSeenOf({ castings }: View): Map<number, number> {
  const found = new Map<number, number>()
  for (const { sort, about, castings: count } of castings.gaps())
    if (sort === 'unaccounted' && count !== undefined) found.set(about, Math.round(1000 * count))
  return found
}

function byWork(a: BalanceRow, b: BalanceRow): number {
  return STAGES.indexOf(a.stage) - STAGES.indexOf(b.stage) || a.at - b.at || a.thing - b.thing
}
