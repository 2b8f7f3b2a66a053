// What leaves: packs, pans, shipments.
import type { FactOf, Name } from '../../events/fact.ts'
import type { Quantity } from '../../events/field.ts'
import type { Place } from '../../metal/castings/stock.ts'
import { kept } from '../../metal/kept.ts'
import { countPans, readPans } from '../../store/read-things.ts'
import { type PageArgs, page } from '../connections.ts'
import type { Context } from '../context.ts'
import { plain } from '../estimate.ts'
import { estimate, total } from './amounts.ts'
import { firstSaid, named, namedBy, type PieceUse, pieceSources, saidOf } from './said.ts'
import type { Known, ThingKind } from './thing.ts'

export const PACK_THINGS = {
  pack: {
    typename: 'Pack',
    reportedBy: ['ship.pans-packed', 'ship.packs-repacked'],
    fields: packFields,
  },
  pan: { typename: 'Pan', reportedBy: ['ship.pans-packed'], fields: panFields },
  shipment: { typename: 'Shipment', reportedBy: ['ship.packs-shipped'], fields: shipmentFields },
} as const satisfies Readonly<Record<string, ThingKind>>

interface PansPacked {
  marks: string[]
  lines: { product: string; sources?: PieceUse[]; castings: Quantity }[]
  serials?: { pan: string; of?: Name }[]
  spot?: string
}

interface PacksRepacked {
  outOf: { pack: string; castings: Quantity }[]
  into: { pack: string; marks: string[]; product: string; castings: Quantity }[]
}

/** What one report put into a pack. */
interface Filling {
  marks: string[]
  lines: { product: string; sources?: PieceUse[]; castings: Quantity }[]
  spot?: string
}

function packFields(known: Known) {
  const fillings = (context: Context) => fillingsOf(context, known)
  return {
    marks: async (_: unknown, context: Context) => [
      ...new Set((await fillings(context)).flatMap(({ marks }) => marks)),
    ],
    products: async (_: unknown, context: Context) => {
      const products = (await fillings(context)).flatMap(({ lines }) => lines)
      return [...new Set(products.map(({ product }) => product))].map(named)
    },
    castings: async (_: unknown, context: Context) =>
      counted((await fillings(context)).flatMap(({ lines }) => lines)),
    sources: async (_: unknown, context: Context) =>
      pieceSources(
        context,
        known,
        (await fillings(context)).flatMap(({ lines }) =>
          lines.flatMap(({ product, sources }) =>
            (sources ?? []).map((source) => ({ ...source, product })),
          ),
        ),
      ),
    places: (_: unknown, context: Context) => places(context, known),
    shipments: async (_: unknown, context: Context) => {
      if (known.no === undefined) return []
      const shipped = await context.things.into(known.no, 'shipped', known.asOf)
      return context.things.many([...new Set(shipped.map(({ fact }) => fact.of))], known.asOf)
    },
    pans: (args: PageArgs, context: Context) => pans(context, known, args),
  }
}

async function fillingsOf(context: Context, known: Known): Promise<Filling[]> {
  const packed = await saidOf<PansPacked>(context, known, 'ship.pans-packed')
  const repacked = await saidOf<PacksRepacked>(context, known, 'ship.packs-repacked')
  return [
    ...packed.map(({ data }) => data),
    ...repacked.flatMap(({ data }) =>
      data.into
        .filter(({ pack }) => `pack:${pack}` === known.name)
        .map(({ marks, product, castings }) => ({
          marks,
          lines: [
            { product, castings, sources: data.outOf.map(({ pack }) => ({ of: `pack:${pack}` })) },
          ],
        })),
    ),
  ]
}

/** A count that was said once stands as it was said; several are added up. */
function counted(lines: readonly { castings: Quantity }[]) {
  if (lines.length === 1) return estimate(lines[0]!.castings)
  return total(lines.map(({ castings }) => castings))
}

/** Where its castings are: in it, with customers, or back from them; what went into other things is theirs. */
async function places(context: Context, known: Known) {
  if (known.no === undefined) return []
  const { view } = (await context.snapshot()).at(known.asOf)
  const places = new Map<string, { place: Place; spot: string | null; castings: number }>()
  for (const { place, castings, thing, shipment, spot } of view.castings.placesOf(known.no)) {
    const elsewhere = shipment !== undefined && place === 'SHIPPED' ? shipment : thing
    const name = elsewhere === known.no ? (spot ?? null) : view.things.name(elsewhere)
    const found = kept(places, `${place} ${name}`, () => ({ place, spot: name, castings: 0 }))
    found.castings += castings
  }
  return [...places.values()].map(({ castings, ...where }) => ({
    ...where,
    castings: plain(castings),
  }))
}

function pans(context: Context, known: Known, args: PageArgs) {
  const { no, asOf } = known
  const { pool } = context.store
  return page(args, {
    ...{ list: 'pans of pack', of: no, asOf },
    parts: ['integer'],
    rows: async (after, most) =>
      no === undefined ? [] : readPans(pool, no, { most, after: after?.[0] as number, asOf }),
    key: (pan: number) => [pan],
    edges: async (shown) => (await context.things.many(shown, asOf)).map((node) => ({ node })),
    count: () => (no === undefined ? 0 : countPans(pool, no, asOf)),
  })
}

function panFields(known: Known) {
  const packed = async (context: Context) => {
    const said = await saidOf<PansPacked>(context, known, 'ship.pans-packed')
    const fact = said[0]?.account.facts.find(
      (one): one is FactOf<'pan-packed'> => one.what === 'pan-packed' && one.of === known.name,
    )
    return fact
  }
  return {
    pack: async (_: unknown, context: Context) => {
      const pack = (await packed(context))?.via
      return pack === undefined ? null : namedBy(context, known, pack)
    },
    from: async (_: unknown, context: Context) => {
      const from = (await packed(context))?.other
      return from === undefined ? null : namedBy(context, known, from)
    },
  }
}

interface PacksShipped {
  customer: string
  lines: { pack: string; castings: Quantity }[]
}

function shipmentFields(known: Known) {
  const shipped = (context: Context) =>
    firstSaid<PacksShipped>(context, known, 'ship.packs-shipped')
  return {
    customer: async (_: unknown, context: Context) =>
      named((await shipped(context))?.data.customer),
    packs: async (_: unknown, context: Context) => {
      const lines = (await shipped(context))?.data.lines ?? []
      return pieceSources(
        context,
        known,
        lines.map(({ pack, castings }) => ({ of: `pack:${pack}`, castings })),
      )
    },
  }
}
