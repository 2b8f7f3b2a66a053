// What is recorded of castings up to the mold: by pour, and by the ladle, heat, sand and molds behind it.
import type { FactOf, Ms } from '../../events/fact.ts'
import type { MoldsView } from '../../metal/castings.ts'
import type { View } from '../../metal/followed.ts'
import { kept } from '../../metal/kept.ts'
import { unitName } from '../answers/series.ts'
import type { PouredUnit } from './looked-at.ts'
import { batches, dose, levels, measure, moment, type Recorded } from './recorded.ts'

type Poured = FactOf<'poured', number>
type Tapped = FactOf<'ladle-tapped', number>

/** A pour and what stands behind it, as far as it was reported. */
export interface Behind {
  pour: number
  poured?: Poured
  run?: MoldsView
  made?: FactOf<'molds-made', number>
  ladle?: number
  tapped?: Tapped
  treated?: Ms
  heat?: number
  begun?: FactOf<'heat-begun', number>
  recipe?: string
}

const MINUTES = 60_000

/** Of the first makeup: units are castings of one pour, product and cavity. */
export function pouredFactors(view: View, units: readonly PouredUnit[]): Recorded[] {
  const behind = new Map<number, Behind>()
  const all = units.map(({ pour }) => kept(behind, pour, () => behindOf(view, pour)))
  const clocks = clocksOf(view, [...behind.values()])
  const name = (no: number) => view.things.name(no)
  const by = <T>(of: (one: Behind) => T | undefined) => all.map(of)
  const bare = (no: number | undefined) =>
    no === undefined ? undefined : view.things.name(no).replace(/^[a-z]+:/, '')
  return [
    ...levels(
      'cavity',
      0,
      units.map(({ cavity, product }) => (cavity ? `${cavity} of ${product}` : undefined)),
    ),
    ...levels(
      'line',
      0,
      by(({ poured }) => bare(poured?.via)),
    ),
    ...levels(
      'pattern',
      0,
      by(({ run }) => run?.pattern),
    ),
    ...levels(
      'furnace',
      0,
      by(({ tapped }) => bare(tapped?.via)),
      { machines: true },
    ),
    ...levels(
      'ladle',
      0,
      by(({ tapped }) => tapped?.steel),
    ),
    ...levels(
      'recipe',
      0,
      by(({ recipe }) => recipe),
    ),
    ...batches(
      'heat',
      0,
      by(({ heat }) => heat),
      name,
    ),
    ...batches(
      'ladle filling',
      0,
      by(({ ladle }) => ladle),
      name,
    ),
    ...batches(
      'sand batch',
      0,
      by(({ run }) => run?.sand),
      name,
    ),
    ...batches(
      'run of molds',
      0,
      by(({ run }) => run?.molds),
      name,
    ),
    ...CLOCKS.flatMap(([clock, unit]) =>
      measure(
        clock,
        0,
        by((one) => clocks.get(one)?.[clock]),
        unit,
      ),
    ),
    ...moment(
      'time of pouring',
      0,
      by(({ poured }) => poured?.from),
    ),
    ...readings(view, all),
    ...metalLots(view, units),
    ...touchingLots(view, all),
  ]
}

const CLOCKS = [
  ['treatment to pour', 'minutes'],
  ['tap to pour', 'minutes'],
  ['mold made to poured', 'minutes'],
  ['pour to shake-out', 'minutes'],
  ['place in the ladle', 'pours'],
  ['molds since the line stood', 'molds'],
  ['heats since the furnace was empty', 'heats'],
] as const
type Clocks = Partial<Record<(typeof CLOCKS)[number][0], number>>

export function behindOf(view: View, pour: number): Behind {
  const { book, castings, asOf } = view
  const found: Behind = { pour }
  const poured = book.of(pour, 'poured', asOf)[0]?.fact
  if (!poured) return found
  found.poured = poured
  // The run that filled most of it; several that cover the same molds say nothing.
  const runs = castings.moldsOf(pour).filter(({ certain }) => certain)
  const run = runs.sort((a, b) => b.last - b.first - (a.last - a.first))[0]
  if (run) {
    found.run = run
    const made = book.of(run.molds, 'molds-made', asOf)[0]?.fact
    if (made) found.made = made
  }
  if (poured.other === undefined || view.things.kind(poured.other) !== 'ladle') return found
  found.ladle = poured.other
  const treated = book
    .of(poured.other, 'ladle-added', asOf)
    .filter(({ fact }) => fact.purpose === 'inoculation' && fact.at <= poured.from)
  if (treated.length > 0) found.treated = treated.at(-1)!.fact.at
  const tapped = book.of(poured.other, 'ladle-tapped', asOf).at(-1)?.fact
  if (!tapped) return found
  found.tapped = tapped
  found.heat = tapped.other
  const begun = book.of(tapped.other, 'heat-begun', asOf)[0]?.fact
  if (begun) found.begun = begun
  const charge = book.of(tapped.other, 'heat-charged', asOf)[0]?.fact.other
  const followed =
    charge === undefined ? undefined : book.of(charge, 'recipe-followed', asOf)[0]?.fact
  if (followed) found.recipe = `${followed.recipe} revision ${followed.revision}`
  return found
}

function clocksOf(view: View, all: readonly Behind[]): Map<Behind, Clocks> {
  const clocks = new Map<Behind, Clocks>(all.map((one) => [one, {}]))
  const since = (from: Ms | undefined, until: Ms | undefined) =>
    from === undefined || until === undefined || until < from ? undefined : (until - from) / MINUTES
  for (const [one, found] of clocks) {
    const { poured, treated, tapped, made } = one
    if (!poured) continue
    set(found, 'treatment to pour', since(treated, poured.from))
    set(found, 'tap to pour', since(tapped?.at, poured.from))
    set(found, 'mold made to poured', since(made?.at, poured.from))
    const shaken = view.book
      .other(one.pour, 'load-source', view.asOf)
      .find(({ fact }) => fact.step === 'shake-out')
    set(found, 'pour to shake-out', since(poured.at, shaken?.fact.from))
  }
  placesInLadle(all, clocks)
  moldsSinceStops(view, all, clocks)
  heatsSinceEmpty(view, all, clocks)
  return clocks
}

function set(clocks: Clocks, clock: keyof Clocks, value: number | undefined): void {
  if (value !== undefined) clocks[clock] = value
}

function placesInLadle(all: readonly Behind[], clocks: Map<Behind, Clocks>): void {
  const told = all.filter(({ ladle }) => ladle !== undefined)
  for (const pours of Map.groupBy(told, ({ ladle }) => ladle).values())
    for (const [i, one] of inTime(pours).entries()) clocks.get(one)!['place in the ladle'] = i + 1
}

function inTime(pours: readonly Behind[]): Behind[] {
  return [...pours].sort((a, b) => a.poured!.from - b.poured!.from)
}

function moldsSinceStops(view: View, all: readonly Behind[], clocks: Map<Behind, Clocks>): void {
  const told = all.filter(({ poured }) => poured)
  for (const [line, pours] of Map.groupBy(told, ({ poured }) => poured!.via)) {
    const stops = view.book.of(line, 'line-stopped', view.asOf).map(({ fact }) => fact.at)
    let [next, since] = [0, Number.NaN]
    for (const one of inTime(pours)) {
      while (next < stops.length && stops[next]! <= one.poured!.at) {
        next++
        since = 0
      }
      if (!Number.isNaN(since)) clocks.get(one)!['molds since the line stood'] = since
      since += one.poured!.last - one.poured!.first + 1
    }
  }
}

function heatsSinceEmpty(view: View, all: readonly Behind[], clocks: Map<Behind, Clocks>): void {
  const told = all.filter(({ begun }) => begun)
  for (const [furnace, pours] of Map.groupBy(told, ({ begun }) => begun!.via)) {
    const empty = view.book.of(furnace, 'furnace-emptied', view.asOf).map(({ fact }) => fact.at)
    const heats = view.book.via(furnace, 'heat-begun', view.asOf).map(({ fact }) => fact.at)
    for (const one of pours) {
      const last = empty.findLast((at) => at <= one.begun!.at)
      if (last === undefined) continue
      clocks.get(one)!['heats since the furnace was empty'] = heats.filter(
        (at) => at > last && at <= one.begun!.at,
      ).length
    }
  }
}

/** Everything measured of the heat, ladle, pour, sand, molds and charge; the mean where several were taken. */
function readings(view: View, all: readonly Behind[]): Recorded[] {
  const byQuantity = new Map<
    string,
    { unit: string; of: Map<number, { sum: number; n: number }> }
  >()
  const kinds = new Set(['heat', 'ladle', 'pour', 'sand', 'molds'])
  for (const { fact } of view.book.all('measured', view.asOf)) {
    const kind = view.things.kind(fact.of)
    if (!kinds.has(kind) || fact.bound) continue
    const found = kept(byQuantity, `${fact.quantity} of the ${kind}`, () => ({
      unit: fact.unit,
      of: new Map<number, { sum: number; n: number }>(),
    }))
    const one = kept(found.of, fact.of, () => ({ sum: 0, n: 0 }))
    one.sum += fact.amount
    one.n++
  }
  const things = (one: Behind) => [one.heat, one.ladle, one.pour, one.run?.sand, one.run?.molds]
  return [...byQuantity].flatMap(([quantity, { unit, of }]) =>
    measure(
      quantity.replace(/ of the pour$/, ''),
      0,
      all.map((one) => {
        const mean = things(one).flatMap((no) => (no === undefined ? [] : (of.get(no) ?? [])))[0]
        return mean && mean.sum / mean.n
      }),
      unitName(unit),
    ),
  )
}

/** Shares of each lot in the metal of each pour, by the ledger. */
function metalLots(view: View, units: readonly PouredUnit[]): Recorded[] {
  const { melt, asOf } = view
  const parts = new Map(
    [...new Set(units.map(({ pour }) => pour))].map((pour) => [pour, melt.pourParts(pour, asOf)]),
  )
  return [...melt.lots()].flatMap(([slot, lot]) => {
    const share = melt.ledger.forward([[slot, 1]], { asOf })
    const byPour = new Map(
      [...parts].map(([pour, some]) => {
        const molds = some.reduce((sum, part) => sum + part.molds, 0)
        return [pour, some.reduce((sum, part) => sum + (part.molds * share[part.slot]!) / molds, 0)]
      }),
    )
    const amounts = Float64Array.from(units, ({ pour }) => byPour.get(pour)! || 0)
    return dose(view.things.name(lot), 0, lot, amounts)
  })
}

/** Lots that touched sand, molds or the ladle: binder, coating, coagulant. */
function touchingLots(view: View, all: readonly Behind[]): Recorded[] {
  const touched = new Map<number, Float64Array>()
  for (const [i, { pour, ladle, run }] of all.entries())
    for (const on of [pour, ladle, run?.sand, run?.molds]) {
      if (on === undefined) continue
      for (const { fact } of view.book.of(on, 'touched', view.asOf)) {
        const lot = lotIn(view, fact.other, fact.at)
        if (lot !== undefined) kept(touched, lot, () => new Float64Array(all.length))[i] = 1
      }
    }
  return [...touched].flatMap(([lot, amounts]) => dose(view.things.name(lot), 0, lot, amounts))
}

/** The lot itself, or the one a bin was last filled with. */
export function lotIn(view: View, no: number, at: Ms): number | undefined {
  if (view.things.kind(no) === 'lot') return no
  const filled = view.book.of(no, 'bin-filled', view.asOf)
  return filled.findLast(({ fact }) => fact.at <= at)?.fact.other
}
