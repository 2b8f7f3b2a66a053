// What a thing is made of and what fed it: castings by slot of the castings ledger.
import type { Ms } from '../../events/fact.ts'
import { UNRECORDED } from '../ledger/writing.ts'
import { tieOfThing } from '../things.ts'
import type { Floor } from './floor.ts'
import type { Handling } from './handling.ts'
import { ANY, mayBe, type Piece, pieceOf } from './piece.ts'
import { type Rank, rankOf } from './rank.ts'
import { BEHIND, GONE, type Held } from './serving.ts'
import type { Draw } from './stock.ts'
import { Vessel } from './vessel.ts'

/** Castings of one composition in a thing. */
export interface Content {
  slot: number
  /** Empty where nobody can say. */
  product: string
  cavity: string
  castings: number
}

/**
 * What is in a thing: in a pour what it made, in a load what left its last step, in a tote and a pack
 * what stands in them or left with them, in a shipment what left, in a pan one casting, in a lot the
 * castings thrown into it. Given a moment, a load and a tote are taken as they were then.
 */
export function contentsOf(floor: Floor, no: number, at?: Ms): Content[] {
  const { flow } = floor
  switch (flow.things.kind(no)) {
    case 'pour':
      return [...(flow.pours.get(no)?.units() ?? [])]
    case 'molds':
      return ofMolds(floor, no)
    case 'load':
      return leaving(lastHandling(floor, no, at))
    case 'tote':
      return summed(standsAt(flow.vessels.get(no), at))
    case 'pack':
      return inPack(floor, no)
    case 'shipment':
      return summed([...(flow.shipments.get(no) ?? [])].flatMap(({ stock }) => stock.held))
    case 'pan':
      return ofPan(floor, no)
    case 'lot':
      return summed([...(flow.ended.get(no) ?? [])].flatMap(gotBy))
    default:
      return []
  }
}

/**
 * Slots and weights of what a thing is or was made of, though it may stand empty by now: for castings
 * of it that are thrown back. Weights are castings.
 */
export function makeupOf(floor: Floor, no: number, at?: Ms): [slot: number, weight: number][] {
  const vessel = floor.flow.vessels.get(no)
  const handling = lastHandling(floor, no, at)
  const stock =
    handling?.main ?? vessel?.standings.findLast((one) => at === undefined || one.rank.at <= at)
  if (stock) return stock.held.map(({ slot, amount }) => [slot, amount / 1000])
  return contentsOf(floor, no).map(({ slot, castings }) => [slot, castings])
}

/** Things that fed a thing, each with how many castings. */
export function feedsOf(floor: Floor, no: number): { of: number; castings: number }[] {
  const { flow } = floor
  const pan = floor.pans.get(no)
  if (pan) return [{ of: pan.other ?? pan.via, castings: 1 }]
  const stocks = [
    ...(flow.loads.get(no)?.handlings.flatMap((handling) => handling.stocks) ?? []),
    ...(flow.vessels.get(no)?.standings ?? []),
    ...[...(flow.shipments.get(no) ?? [])].map(({ stock }) => stock),
  ]
  const fed = new Map<number, number>()
  for (const { inflows } of stocks) {
    for (const draw of inflows.flatMap(({ draws }) => draws)) {
      if (!draw.from || draw.from.no === no) continue
      const amount = gotBy(draw).reduce((sum, held) => sum + held.amount, 0)
      if (amount > 0) fed.set(draw.from.no, (fed.get(draw.from.no) ?? 0) + amount)
    }
  }
  return [...fed].map(([of, amount]) => ({ of, castings: amount / 1000 }))
}

/** Castings that stood, or may have stood, in the molds of a run. */
function ofMolds(floor: Floor, no: number): Content[] {
  const run = floor.runs.get(no)
  const line = run && floor.lines.get(run.via)
  const found: Content[] = []
  for (const { of } of line?.pours.overlapping(run!) ?? []) {
    const pour = floor.flow.pour(of)
    const fills = pour.count?.stretches.some(({ runs }) => runs.includes(run!))
    if (!fills) continue
    for (const unit of pour.units()) {
      const cast = pour.count!.casts.find(
        ({ piece }) => piece === pieceOf(unit.product, unit.cavity),
      )
      // Castings nobody counted may be of any of the pour's molds.
      const castings = cast ? (cast.byRun.get(no) ?? 0) / 1000 : unit.castings
      if (castings > 0) found.push({ ...unit, castings })
    }
  }
  return found
}

function lastHandling(
  { flow }: Floor,
  no: number,
  at = Number.POSITIVE_INFINITY,
): Handling | undefined {
  return flow.loads.get(no)?.handlings.findLast(({ report, from }) => report && from <= at)
}

function leaving(handling: Handling | undefined): Content[] {
  if (!handling) return []
  const { held, outs, lost } = handling.main
  const gone = [...outs.filter(({ turn }) => turn === GONE || turn === BEHIND), ...lost]
  const left = gone.flatMap(gotBy).map((one) => ({ ...one, amount: -one.amount }))
  return summed([...held, ...left])
}

/** What stands in a vessel: less of it as others take some. */
function standsAt(vessel: Vessel | undefined, at = Number.POSITIVE_INFINITY): Held[] {
  const standing = vessel?.standingAt({ at, tie: Number.POSITIVE_INFINITY })
  if (!standing) return []
  const taken = standing.outs.filter(({ rank }) => rank.at <= at).flatMap(gotBy)
  return [...standing.held, ...taken.map((one) => ({ ...one, amount: -one.amount }))]
}

/** What is in a pack now, here or with customers; not what came back from them. */
function inPack({ flow }: Floor, no: number): Content[] {
  const shipped = [...(flow.shippings.get(no) ?? [])].flatMap(({ stock }) => stock.left)
  return summed([...standsAt(flow.vessels.get(no)), ...shipped])
}

/** One casting: of the source said for the pan, else of its pack. */
function ofPan(floor: Floor, no: number): Content[] {
  const pan = floor.pans.get(no)
  if (!pan) return []
  const { flow } = floor
  const products = flow.packings.get(pan.via)?.lines.map(({ product }) => pieceOf(product)) ?? []
  const fits = (piece: Piece) =>
    products.length === 0 || products.some((product) => mayBe(piece, product))
  const rank = rankOf('packed', pan.at, tieOfThing(flow.things, pan.via))
  const contents =
    pan.other === undefined ? ofPack(floor, pan.via) : ofSource(floor, pan.other, rank)
  const fit = contents.filter(({ product, cavity }) => fits(pieceOf(product, cavity)))
  const all = fit.reduce((sum, { castings }) => sum + castings, 0)
  if (all > 0) return fit.map((content) => ({ ...content, castings: content.castings / all }))
  const endless = pan.other === undefined ? undefined : flow.pours.get(pan.other)?.stock.endless
  return [{ slot: endless ? endless(ANY) : UNRECORDED, ...(products[0] ?? ANY), castings: 1 }]
}

function ofPack(floor: Floor, pack: number): Content[] {
  const now = inPack(floor, pack)
  return now.length > 0 ? now : summed(floor.flow.vessels.get(pack)?.standings[0]?.held ?? [])
}

function ofSource({ flow }: Floor, no: number, rank: Rank): Content[] {
  const where = flow.where(no, rank, 1000)
  const stock = where instanceof Vessel ? where.standingAt(rank) : where
  return summed(stock?.held ?? [])
}

function gotBy(draw: Draw): Held[] {
  return draw.got
}

function summed(held: readonly Held[]): Content[] {
  const bySlot = new Map<number, Content>()
  for (const { piece, slot, amount } of held) {
    const content = bySlot.get(slot) ?? { slot, ...piece, castings: 0 }
    content.castings += amount / 1000
    bySlot.set(slot, content)
  }
  return [...bySlot.values()].filter(({ castings }) => castings > 1e-9)
}
