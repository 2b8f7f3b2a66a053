// From goods in to the ladle: lots, bins, charges, furnaces, heats, ladle fillings.
import type { Name } from '../events/fact.ts'
import type { Chemistry, Quantity } from '../events/field.ts'
import { readHeatsAround, readList } from '../store/read-things.ts'
import { chemistryOf, enumWord, estimate, readingIn, total } from './amounts.ts'
import { bath } from './bath.ts'
import type { Context } from './context.ts'
import { reportObject } from './reports.ts'
import {
  firstSaid,
  massSources,
  momentIn,
  named,
  namedBy,
  type Said,
  saidOf,
  type Use,
} from './said.ts'
import type { Known, Thing, ThingKind } from './thing.ts'
import { usesOf } from './uses.ts'

export const MELT_THINGS = {
  lot: {
    typename: 'Lot',
    reportedBy: ['receive.lot-received', 'receive.returns-collected'],
    fields: lotFields,
  },
  bin: { typename: 'Bin', vessel: true, reportedBy: [], fields: binFields },
  charge: { typename: 'Charge', reportedBy: ['melt.charge-weighed'], fields: chargeFields },
  furnace: { typename: 'Furnace', vessel: true, reportedBy: [] },
  heat: { typename: 'Heat', reportedBy: ['melt.heat-melted'], fields: heatFields },
  ladle: { typename: 'Ladle', reportedBy: ['melt.heat-tapped'], fields: ladleFields },
} as const satisfies Readonly<Record<string, ThingKind>>

interface LotReceived {
  material: string
  role?: string
  metalPercent?: Quantity
  kg: Quantity
  supplier: string
  supplierLots?: string[]
  certificate?: Chemistry
}

interface ReturnsCollected {
  what: string
  kg?: Quantity
  sources?: Use[]
}

function lotFields(known: Known) {
  const received = (context: Context) =>
    firstSaid<LotReceived>(context, known, 'receive.lot-received')
  const collected = (context: Context) =>
    firstSaid<ReturnsCollected>(context, known, 'receive.returns-collected')
  return {
    material: async (_: unknown, context: Context) =>
      (await received(context))?.data.material ?? (await collected(context))?.data.what ?? null,
    role: async (_: unknown, context: Context) => {
      const role = (await received(context))?.data.role
      return role === undefined ? null : enumWord(role)
    },
    kg: async (_: unknown, context: Context) =>
      estimate((await received(context))?.data.kg ?? (await collected(context))?.data.kg),
    metalPercent: async (_: unknown, context: Context) =>
      (await received(context))?.data.metalPercent?.value ?? null,
    supplier: async (_: unknown, context: Context) =>
      named((await received(context))?.data.supplier),
    supplierLots: async (_: unknown, context: Context) =>
      (await received(context))?.data.supplierLots ?? [],
    certificate: async (_: unknown, context: Context) =>
      chemistryOf((await received(context))?.data.certificate),
    collectedFrom: async (_: unknown, context: Context) =>
      massSources(context, known, (await collected(context))?.data.sources),
    usedIn: usesOf(known),
  }
}

function binFields(known: Known) {
  return { usedIn: usesOf(known) }
}

interface ChargeWeighed {
  recipe?: { id: string; revision: string }
  lines: (Use & { kg: Quantity })[]
}

interface RecipeIssued {
  recipe: { id: string; revision: string }
  lines: { material: string; percent: Quantity; low?: Quantity; high?: Quantity }[]
}

function chargeFields(known: Known) {
  const weighed = (context: Context) =>
    firstSaid<ChargeWeighed>(context, known, 'melt.charge-weighed')
  return {
    recipe: async (_: unknown, context: Context) => {
      const recipe = (await weighed(context))?.data.recipe
      return recipe ? recipeObject(context, known, recipe) : null
    },
    lines: async (_: unknown, context: Context) =>
      massSources(context, known, (await weighed(context))?.data.lines),
    kg: async (_: unknown, context: Context) =>
      total((await weighed(context))?.data.lines.map(({ kg }) => kg) ?? []),
    preheatCelsius: async (_: unknown, context: Context) => {
      const said = await saidOf<{ celsius: Quantity }>(context, known, 'melt.charge-preheated')
      return estimate(said.at(-1)?.data.celsius)
    },
    heats: async (_: unknown, context: Context) => thingsInto(context, known, 'heat-charged'),
  }
}

function recipeObject(context: Context, known: Known, { id, revision }: RecipeIssued['recipe']) {
  return {
    name: id,
    revision,
    lines: async () => {
      const no = await context.things.numberOf(known.plant, `recipe:${id}`)
      const issued = await saidOf<RecipeIssued>(context, { ...known, no }, 'melt.recipe-issued')
      const lines = issued.find(({ data }) => data.recipe.revision === revision)?.data.lines ?? []
      return lines.map(({ material, percent, low, high }) => ({
        material,
        percent: percent.value,
        lowPercent: low?.value ?? null,
        highPercent: high?.value ?? null,
      }))
    },
  }
}

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
    chemistry: chemistryOf(chemistry) ?? { elements: [] },
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

/** Things that took something from this one, by time, each once. */
async function thingsInto(
  context: Context,
  { no, asOf }: Known,
  sort: 'heat-charged' | 'ladle-tapped' | 'poured',
): Promise<Thing[]> {
  if (no === undefined) return []
  const facts = await context.things.into(no, sort, asOf)
  return context.things.many([...new Set(facts.map(({ fact }) => fact.of))], asOf)
}
