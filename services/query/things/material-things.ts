// What metal is made of: lots, bins, charges.
import type { Chemistry, Quantity } from '../../events/field.ts'
import type { Context } from '../context.ts'
import { enumWord, estimate, total } from './amounts.ts'
import { chemistryOf } from './chemistry.ts'
import { firstSaid, massSources, named, saidOf, thingsInto, type Use } from './said.ts'
import type { Known, ThingKind } from './thing.ts'
import { usesOf } from './uses.ts'

export const MATERIAL_THINGS = {
  lot: {
    typename: 'Lot',
    reportedBy: ['receive.lot-received', 'receive.returns-collected'],
    fields: lotFields,
  },
  bin: { typename: 'Bin', vessel: true, reportedBy: [], fields: binFields },
  charge: { typename: 'Charge', reportedBy: ['melt.charge-weighed'], fields: chargeFields },
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

/** The GraphQL object Recipe at one revision. */
export function recipeObject(
  context: Context,
  known: Pick<Known, 'plant' | 'asOf'>,
  { id, revision }: RecipeIssued['recipe'],
) {
  return {
    name: id,
    revision,
    lines: async () => {
      const no = await context.things.numberOf(known.plant, `recipe:${id}`)
      const issued = await saidOf<RecipeIssued>(
        context,
        { no, asOf: known.asOf },
        'melt.recipe-issued',
      )
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
