// What inspectors saw.
import type { Quantity } from '../../events/field.ts'
import { placeOf, placeText } from '../../store/read-in-force.ts'
import { type ListedPlace, readInspections } from '../../store/read-lists.ts'
import { readReports } from '../../store/read-reports.ts'
import { type Connection, type PageArgs, page } from '../connections.ts'
import type { Context } from '../context.ts'
import { type Account, accountOf } from './account.ts'
import { countListed } from './count-listed.ts'
import { reportObject } from './reports.ts'
import { named } from './said.ts'
import { isShown, NOW } from './thing.ts'

const BASE = 'inspect.castings-inspected'

interface CastingsInspected {
  inspection: string
  of?: string[]
  stage: string
  castings: Quantity
  defective?: Quantity
  product?: string
  defects: { defect: string; castings: Quantity; cavity?: string; fate?: string }[]
}

/** The GraphQL object Inspection by its number; null when there is none. */
export async function inspectionBy(context: Context, number: string): Promise<object | null> {
  const no = await context.things.numberOf(context.plant, `inspection:${number}`)
  const accounts = no === undefined ? [] : await context.things.accounts(no)
  const account = accounts.find(({ base }) => base === BASE)
  return account ? inspection(context, account) : null
}

interface InspectionsArgs extends PageArgs {
  window?: { from: number; to: number } | null
  stage?: string | null
}

/** The connection `inspections`, newest first. */
export function inspections(
  context: Context,
  args: InspectionsArgs,
): Promise<Connection<{ node: object }>> {
  const { pool } = context.store
  const listed = {
    plant: context.plant,
    sorts: ['inspected'] as const,
    from: args.window?.from,
    to: args.window?.to,
    words: args.stage == null ? [] : [{ in: ['stage'], is: args.stage }],
  }
  return page(args, {
    list: 'inspections',
    parts: ['integer', 'string'],
    rows: (after, most) => {
      const place = after && placeOf(String(after[1]))
      return readInspections(pool, listed, {
        most,
        after: place && { at: Number(after![0]), place },
        asOf: NOW,
      })
    },
    key: ({ at, place }: ListedPlace) => [at, placeText(place)],
    edges: async (shown) => {
      const reports = await readReports(
        pool,
        shown.map(({ place }) => place),
      )
      const byPlace = new Map(reports.map((report) => [placeText(report.place), report]))
      return shown.map(({ place }) => ({
        node: inspection(context, accountOf(byPlace.get(placeText(place))!)),
      }))
    },
    count: () => countListed(context, listed, ({ said }) => said),
  })
}

function inspection(context: Context, account: Account) {
  const data = account.said as CastingsInspected
  const of = (data.of ?? []).filter((name) => isShown(name.slice(0, name.indexOf(':'))))
  return {
    __typename: 'Inspection',
    id: `inspection:${data.inspection}`,
    number: data.inspection,
    of: () => of.map((name) => context.things.named(context.plant, name)),
    stage: data.stage,
    at: account.time,
    castings: data.castings.value,
    defective: data.defective?.value ?? null,
    product: named(data.product),
    defects: data.defects.map(({ defect, castings, cavity, fate }) => ({
      defect,
      castings: castings.value,
      cavity: cavity ?? null,
      fate: fate ?? null,
    })),
    report: reportObject(context, account.report),
  }
}
