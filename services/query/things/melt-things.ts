// Liquid metal: furnaces, heats, ladle fillings.
import type { Name } from '../../events/fact.ts'
import type { Chemistry, Quantity } from '../../events/field.ts'
import { readList } from '../../store/read-lists.ts'
import { readHeatsAround } from '../../store/read-things.ts'
import { bath } from '../answers/bath.ts'
import type { Context } from '../context.ts'
import { estimate, readingIn, total } from './amounts.ts'
import { chemistryOf } from './chemistry.ts'
import { fitOf, misfit, predicted } from './fit.ts'
import { measures } from './measures.ts'
import { reportObject } from './reports.ts'
import {
  firstSaid,
  massSources,
  momentIn,
  namedBy,
  type Said,
  saidOf,
  thingsInto,
  type Use,
} from './said.ts'
import type { Known, ThingKind } from './thing.ts'

export const MELT_THINGS = {
  furnace: { typename: 'Furnace', vessel: true, reportedBy: [] },
  heat: { typename: 'Heat', reportedBy: ['melt.heat-melted'], fields: heatFields },
  ladle: { typename: 'Ladle', reportedBy: ['melt.heat-tapped'], fields: ladleFields },
} as const satisfies Readonly<Record<string, ThingKind>>

interface HeatMelted {
  furnace: string
  charges: { charge: string }[]
  fromEmpty?: boolean
  heelKg?: Quantity
  celsius?: Quantity
}

interface HeatSampled {
  sample: string
  of?: Name
  takenAt?: number
  chemistry: Chemistry
  liquidusCelsius?: Quantity
  method?: string
  kept?: string
}

function heatFields(known: Known) {
  const melted = (context: Context) => firstSaid<HeatMelted>(context, known, 'melt.heat-melted')
  return {
    furnace: async (_: unknown, context: Context) =>
      furnaceOf(context, known, await melted(context)),
    charges: async (_: unknown, context: Context) => {
      const charges = (await melted(context))?.data.charges ?? []
      const names = new Set(charges.map(({ charge }) => `charge:${charge}`))
      return [...names].map((name) => namedBy(context, known, name))
    },
    heelKg: async (_: unknown, context: Context) => estimate((await melted(context))?.data.heelKg),
    fromEmpty: async (_: unknown, context: Context) =>
      (await melted(context))?.data.fromEmpty ?? false,
    before: async (_: unknown, context: Context) =>
      heatBefore(context, known, await melted(context)),
    additions: async (_: unknown, context: Context) => {
      const alloyed = await saidOf<{ additions: Use[] }>(context, known, 'melt.heat-alloyed')
      return massSources(
        context,
        known,
        alloyed.flatMap(({ data }) => data.additions),
      )
    },
    samples: async (_: unknown, context: Context) => {
      const sampled = await saidOf<HeatSampled>(context, known, 'melt.heat-sampled')
      return sampled.map((said) => sample(context, known, said))
    },
    predicted: async (_: unknown, context: Context) => {
      const fitted = await fitOf(context, known)
      return fitted ? predicted(fitted) : null
    },
    misfit: async (_: unknown, context: Context) => {
      const fitted = await fitOf(context, known)
      return fitted ? misfit(context, known, fitted) : null
    },
    measures: async (_: unknown, context: Context) => measures(context, known),
    celsius: async (_: unknown, context: Context) =>
      estimate((await melted(context))?.data.celsius),
    ladles: async (_: unknown, context: Context) => thingsInto(context, known, 'ladle-tapped'),
    bath: (args: BathAround, context: Context) => bathAround(context, known, args),
  }
}

async function furnaceOf(context: Context, known: Known, said: Said<HeatMelted> | undefined) {
  return said ? namedBy(context, known, `furnace:${said.data.furnace}`) : null
}

async function heatBefore(context: Context, known: Known, said: Said<HeatMelted> | undefined) {
  const furnace = await furnaceOf(context, known, said)
  const begun = said?.account.facts.find(({ what }) => what === 'heat-begun')
  if (!begun || furnace?.no === undefined) return null
  const [before] = await readList(
    context.store.pool,
    { plant: known.plant, sorts: ['heat-begun'], via: furnace.no },
    { most: 1, after: { at: begun.at, no: known.no! }, asOf: known.asOf },
  )
  return before ? context.things.one(before.no, known.asOf) : null
}

function sample(context: Context, known: Known, said: Said<HeatSampled>) {
  const { sample: number, of, takenAt, chemistry, liquidusCelsius, method, kept } = said.data
  return {
    number,
    at: momentIn(said, takenAt),
    of: () => (of === undefined ? null : namedBy(context, known, of)),
    chemistry: chemistryOf(chemistry, method) ?? { elements: [], figures: [] },
    method: method ?? null,
    liquidusCelsius: estimate(liquidusCelsius),
    kept: kept ?? null,
    report: reportObject(context, said.account.report),
  }
}

interface BathAround {
  before: number
  after: number
  of?: string[] | null
}

/** A day: how long the bath is drawn after the last heat there is. Unit: ms. */
const DAY = 86_400_000
const LONGEST = 31 * DAY

async function bathAround(context: Context, known: Known, args: BathAround) {
  const said = await firstSaid<HeatMelted>(context, known, 'melt.heat-melted')
  const furnace = await furnaceOf(context, known, said)
  const begun = said?.account.facts.find(({ what }) => what === 'heat-begun')
  if (!said || !begun || furnace?.no === undefined) return null
  const { from, to } = await readHeatsAround(context.store.pool, furnace.no, begun.at, args)
  const outcome = await bath(context, {
    furnace: said.data.furnace,
    window: { from, to: Math.min(to ?? begun.at + DAY, from + LONGEST) },
    of: args.of ?? [],
    asOf: known.asOf ?? null,
  })
  return '__typename' in outcome && outcome.__typename === 'Bath' ? outcome : null
}

interface HeatTapped {
  heat: string
  ladleNo?: string
  tap?: number
  kg: Quantity
  celsius?: Quantity
  ladleHeelKg?: Quantity
}

function ladleFields(known: Known) {
  const tapped = (context: Context) => saidOf<HeatTapped>(context, known, 'melt.heat-tapped')
  return {
    ladleNo: async (_: unknown, context: Context) =>
      firstOf(await tapped(context), (data) => data.ladleNo) ?? null,
    taps: async (_: unknown, context: Context) =>
      (await tapped(context)).map((said) => ({
        heat: () => namedBy(context, known, `heat:${said.data.heat}`),
        kg: estimate(said.data.kg),
        tap: said.data.tap ?? null,
        celsius: estimate(readingIn(said.account.facts, 'tapping temperature')),
        at: momentIn(said, undefined),
      })),
    kg: async (_: unknown, context: Context) =>
      total((await tapped(context)).map(({ data }) => data.kg)),
    heelKg: async (_: unknown, context: Context) =>
      estimate(firstOf(await tapped(context), (data) => data.ladleHeelKg)),
    additions: async (_: unknown, context: Context) => {
      const treated = await saidOf<{ additions: Use[] }>(context, known, 'melt.ladle-treated')
      return massSources(
        context,
        known,
        treated.flatMap(({ data }) => data.additions),
      )
    },
    pours: async (_: unknown, context: Context) => thingsInto(context, known, 'poured'),
  }
}

function firstOf<Data, Value>(
  said: readonly Said<Data>[],
  value: (data: Data) => Value | undefined,
): Value | undefined {
  for (const { data } of said) {
    const found = value(data)
    if (found !== undefined) return found
  }
  return undefined
}
