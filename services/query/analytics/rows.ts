// Rows of the tables that analysts read, worked out from the record as it was at a moment.
import type { Ms } from '../../events/fact.ts'
import { momentText } from '../../events/moment.ts'
import { PROJECTION_VERSION } from '../../events/projection-version.ts'
import type { View } from '../../metal/followed.ts'
import type { AnalyticsRows } from '../../store/analytics.ts'
import { ANALYTICS_EDITION, type AnalyticsName } from '../../store/analytics-tables.ts'
import { behindOf } from '../causes/poured-factors.ts'
import { materialOf } from '../rates/charged.ts'
import { recipesIn, sharesOf } from '../rates/in-metal.ts'
import { placedComplaints } from '../rates/market.ts'
import { bare } from '../rates/split.ts'
import type { Moment } from '../record/record-in-hand.ts'
import { fittedHeats } from '../things/fit.ts'
import { lookRows, shippedRows } from './looks.ts'

type Rows = AnalyticsRows[AnalyticsName]

export function analyticsRows(moment: Moment, plants: readonly string[]): AnalyticsRows {
  const all = plants.map((plant) => rowsOfPlant(moment, plant))
  const names = Object.keys(all[0] ?? {}) as (keyof (typeof all)[number])[]
  const joined = Object.fromEntries(names.map((name) => [name, all.flatMap((one) => one[name])]))
  return joined as AnalyticsRows
}

function rowsOfPlant(moment: Moment, plant: string): AnalyticsRows {
  const { view } = moment
  const tables: Omit<AnalyticsRows, 'written'> = {
    lot: lots(view, plant),
    charge_line: chargeLines(view, plant),
    ...heats(moment, plant),
    pour: pours(view, plant),
    pour_lot: pourLots(view, plant),
    pour_recipe: pourRecipes(view, plant),
    ...lookRows(view, plant),
    ...shippedRows(view, plant),
    pack_pour: packPours(view, plant),
    ...complaintRows(view, plant),
  }
  const written = Object.entries(tables).map(([table_name, rows]) => ({
    ...{ plant, table_name, table_rows: rows.length },
    as_of: momentText(moment.asOf),
    ...{ record_version: PROJECTION_VERSION, edition: ANALYTICS_EDITION },
  }))
  return { ...tables, written }
}

function lots(view: View, plant: string): Rows {
  return view.book
    .all('lot-received', view.asOf)
    .filter(({ fact }) => view.things.plant(fact.of) === plant)
    .map(({ fact: { of, material, role, supplier, at, amount } }) => ({
      ...{ plant, lot: view.things.name(of), material, role, supplier },
      ...{ received_at: momentText(at), kg: amount / 1000 },
    }))
}

function chargeLines(view: View, plant: string): Rows {
  const { book, things, asOf } = view
  const charges = new Set(
    book
      .all('charge-line', asOf)
      .map(({ fact }) => fact.of)
      .filter((charge) => things.plant(charge) === plant),
  )
  return [...charges].flatMap((charge) => {
    const recipe = book.of(charge, 'recipe-followed', asOf)[0]?.fact
    return book.of(charge, 'charge-line', asOf).map(({ fact }, line) => ({
      ...{ plant, charge: things.name(charge), line, weighed_at: momentText(fact.at) },
      taken_from: things.name(fact.other),
      material: things.kind(fact.other) === 'bin' ? null : materialOf(view, fact.other),
      kg: fact.amount / 1000,
      target_kg: fact.target === undefined ? null : fact.target / 1000,
      ...{ recipe: recipe?.recipe, revision: recipe?.revision },
    }))
  })
}

function heats(moment: Moment, plant: string): Pick<AnalyticsRows, 'heat' | 'heat_element'> {
  const { view } = moment
  const fits = new Map(
    fittedHeats(moment, plant, Number.POSITIVE_INFINITY).map((fit) => [fit.heat, fit]),
  )
  const begun = new Map(
    view.book
      .all('heat-begun', view.asOf)
      .filter(({ fact }) => view.things.plant(fact.of) === plant)
      .map(({ fact }) => [fact.of, fact]),
  )
  return {
    heat: [...begun].map(([no, { via, at }]) => ({
      ...{ plant, heat: view.things.name(no), furnace: bare(view, via) },
      ...{ begun_at: momentText(at), does_not_fit: fits.get(no)?.toldApart },
    })),
    heat_element: [...fits].flatMap(([no, { innovations }]) =>
      innovations.map(({ symbol, read, predicted, spread }) => ({
        ...{ plant, heat: view.things.name(no), element: symbol, percent: read },
        ...{ expected_percent: predicted, spread_percent: spread },
      })),
    ),
  }
}

const MINUTE = 60_000

function pours(view: View, plant: string): Rows {
  const { things } = view
  return [...view.castings.pours()]
    .filter(({ no, reported }) => reported && things.plant(no) === plant)
    .map(({ no, from, grams }) => {
      const { poured, run, heat, tapped } = behindOf(view, no)
      return {
        ...{ plant, pour: things.name(no), poured_at: momentText(from) },
        poured_local: localText(from + (poured?.offsetMinutes ?? 0) * MINUTE),
        ...{
          line: bare(view, poured?.via),
          pattern: run?.pattern,
          furnace: bare(view, tapped?.via),
        },
        ...{ heat: heat === undefined ? null : things.name(heat), kg: grams / 1000 },
      }
    })
}

function localText(at: Ms): string {
  return momentText(at).slice(0, -1)
}

function pourLots(view: View, plant: string): Rows {
  return [...view.melt.lots()]
    .map(([, lot]) => lot)
    .filter((lot) => view.things.plant(lot) === plant)
    .flatMap((lot) =>
      [...sharesOf(view, [lot])].map(([pour, share]) => ({
        ...{ plant, pour: view.things.name(pour), lot: view.things.name(lot), share },
      })),
    )
}

function pourRecipes(view: View, plant: string): Rows {
  return recipesIn(view, plant).flatMap(({ recipe, revision, byPour }) =>
    [...byPour].map(([pour, share]) => ({
      ...{ plant, pour: view.things.name(pour), recipe, revision, share },
    })),
  )
}

function packPours(view: View, plant: string): Rows {
  const { book, things, asOf } = view
  const packs = new Set(
    [...book.all('pack-line', asOf), ...book.all('repacked', asOf)]
      .map(({ fact }) => fact.of)
      .filter((pack) => things.plant(pack) === plant),
  )
  return [...packs].flatMap((pack) =>
    view.castings.metalOf(pack).map(({ pour, share }) => ({
      ...{ plant, pack: things.name(pack), pour: things.name(pour), share },
    })),
  )
}

function complaintRows(
  view: View,
  plant: string,
): Pick<AnalyticsRows, 'complaint' | 'complaint_pack'> {
  const placed = placedComplaints(view, plant)
  const name = (no: number) => view.things.name(no)
  return {
    complaint: placed.map(({ told: { fact, defect, castings, confirmed } }, place) => ({
      ...{ plant, complaint: name(fact.of), place, received_at: momentText(fact.at) },
      ...{ product: fact.product, defect, castings, confirmed },
    })),
    complaint_pack: placed.flatMap(({ told, places }) =>
      places.map(({ pack, product, at, part }, n) => ({
        ...{ plant, complaint: name(told.fact.of), n, pack: name(pack), product },
        ...{ shipped_at: momentText(at), chance: part },
      })),
    ),
  }
}
