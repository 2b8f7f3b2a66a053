// Where castings are: each stands in exactly one place, and what is not seen again is said so.
import type { Ms } from '../../events/fact.ts'
import { UNRECORDED } from '../ledger/writing.ts'
import type { Floor } from './floor.ts'
import type { Flow } from './flow.ts'
import type { Shipping } from './packing.ts'
import type { Piece } from './piece.ts'
import type { Pour } from './pour-stock.ts'
import type { Draw, Place, Stock } from './stock.ts'
import type { Vessel } from './vessel.ts'

/** A balance of castings: made and unrecorded are what comes in, the places what they come to. */
export type Balance = Record<Place | 'made' | 'unrecorded', number>

/** Castings of one composition at one place. */
export interface CastingsNode {
  /** Of the castings ledger; UNRECORDED where nobody can say where they came from. */
  slot: number
  /** The thing they stand in or were last seen in. */
  thing: number
  /** Empty where nobody can say. */
  product: string
  cavity: string
  /** Not whole where counts were divided. */
  castings: number
  place: Place
  /** Step of the handling they were last seen in. */
  step?: string
  /** Scrap, rework, sample, hold or returned. */
  fate?: string
  customer?: string
  shipment?: number
  spot?: string
  /** Since when, as far as it is known. Unit: ms. */
  at: Ms
}

type About = Omit<CastingsNode, 'slot' | 'product' | 'cavity' | 'castings'>

/** Every casting once. */
export function* nodesOf(floor: Floor): Iterable<CastingsNode> {
  const { flow } = floor
  const passed = passedOf(floor)
  for (const pour of flow.pours.values()) {
    const place = passed(pour) ? 'UNACCOUNTED' : 'IN_PROCESS'
    yield* inStock(pour.stock, { thing: pour.no, place, at: pour.poured?.at ?? 0 })
  }
  for (const load of flow.loads.values()) {
    for (const { load: thing, step, end, stocks } of load.handlings) {
      for (const stock of stocks)
        yield* inStock(stock, { thing, place: stock.place, step, at: end.at })
    }
  }
  for (const vessel of flow.vessels.values()) yield* inVessel(floor, vessel)
  for (const shippings of flow.shippings.values()) yield* inShipments(shippings)
  for (const draw of driftingOf(flow))
    yield* outOf(draw, { thing: 0, place: 'UNACCOUNTED', at: draw.rank.at })
}

/** Castings that were put into a pack or tote and not into another thing: there, with customers, back. */
export function* placesOf(floor: Floor, no: number): Iterable<CastingsNode> {
  const { vessels, shippings } = floor.flow
  const vessel = vessels.get(no)
  if (vessel) yield* inVessel(floor, vessel)
  yield* inShipments(shippings.get(no) ?? [])
}

function* inVessel(floor: Floor, { no, standings }: Vessel): Iterable<CastingsNode> {
  const spot = spotOf(floor, no)
  for (const standing of standings) {
    const about: About = { thing: no, place: standing.place, at: standing.rank.at }
    if (spot !== undefined && standing.place === 'IN_STOCK') about.spot = spot
    yield* inStock(standing, about)
  }
}

function* inShipments(shippings: Iterable<Shipping>): Iterable<CastingsNode> {
  for (const { fact, stock } of shippings) {
    const { other: thing, of: shipment, customer, at } = fact
    yield* inStock(stock, { thing, place: 'SHIPPED', shipment, customer, at })
  }
}

/**
 * Whether what a pour made must have left its molds: some of it did, and so did a later pour of the
 * line. What is left of it was then not seen again.
 */
export function passedOf({ lines, flow }: Floor): (pour: Pour) => boolean {
  const latest = new Map<number, Ms>()
  for (const line of lines.values()) {
    for (const { of, via, from } of line.pours) {
      if (isOpened(flow.pours.get(of)) && from > (latest.get(via) ?? 0)) latest.set(via, from)
    }
  }
  return (pour) => {
    const { poured } = pour
    return poured !== undefined && isOpened(pour) && poured.from < (latest.get(poured.via) ?? 0)
  }
}

/** Where a thing was last said to stand. */
function spotOf({ counted, flow }: Floor, no: number): string | undefined {
  const lines = flow.packings.get(no)?.lines ?? []
  let last: { spot?: string; at: Ms } | undefined
  for (const fact of [...lines, ...(counted.get(no) ?? [])]) {
    if (fact.spot !== undefined && (!last || fact.at >= last.at)) last = fact
  }
  return last?.spot
}

/** By product; of castings nobody can name under the empty text. */
export function balanceOf(floor: Floor): Map<string, Balance> {
  const balances = new Map<string, Balance>()
  const add = (product: string, what: keyof Balance, castings: number) => {
    let balance = balances.get(product)
    if (!balance) {
      balance = {
        made: 0,
        unrecorded: 0,
        IN_PROCESS: 0,
        IN_STOCK: 0,
        SHIPPED: 0,
        SCRAPPED: 0,
        UNACCOUNTED: 0,
      }
      balances.set(product, balance)
    }
    balance[what] += castings
  }
  for (const pour of floor.flow.pours.values()) {
    for (const unit of pour.units()) add(unit.product, 'made', unit.castings)
  }
  for (const { product, place, castings } of nodesOf(floor)) add(product, place, castings)
  for (const { product, castings } of fromNowhere(floor.flow)) add(product, 'unrecorded', castings)
  return balances
}

/** Castings that came in, or left, from where no report tells. */
function* fromNowhere(flow: Flow): Iterable<{ product: string; castings: number }> {
  for (const { unrecorded, outs } of stocksOf(flow)) {
    for (const { piece, amount } of unrecorded)
      yield { product: piece.product, castings: amount / 1000 }
    for (const draw of outs) yield* shortOf(draw)
  }
  for (const draw of driftingOf(flow)) yield* shortOf(draw)
}

function* shortOf({
  into,
  rest,
  short,
  wanted,
}: Draw): Iterable<{ product: string; castings: number }> {
  if (!into && rest && short > 0) yield { product: wanted.product, castings: short / 1000 }
}

/** Every stock there is. */
function* stocksOf(flow: Flow): Iterable<Stock> {
  for (const { stock } of flow.pours.values()) yield stock
  for (const load of flow.loads.values()) for (const { stocks } of load.handlings) yield* stocks
  for (const { standings } of flow.vessels.values()) yield* standings
  for (const shippings of flow.shippings.values()) for (const { stock } of shippings) yield stock
}

function* inStock(stock: Stock, about: About): Iterable<CastingsNode> {
  for (const { piece, slot, amount } of stock.left) yield node(about, piece, slot, amount)
  for (const lost of stock.lost) yield* outOf(lost, about)
  for (const draw of stock.outs) yield* outOf(draw, about)
}

/** Castings that no other stock took; more than there were is of unknown origin. */
function* outOf(draw: Draw, from: About): Iterable<CastingsNode> {
  if (draw.into || !draw.rest) return
  const { place, thing, fate } = draw.rest
  const about: About = { ...from, place, at: draw.rank.at, thing: thing ?? from.thing }
  if (fate !== undefined) about.fate = fate
  for (const { piece, slot, amount } of draw.got) yield node(about, piece, slot, amount)
  if (draw.short > 0) yield node(about, draw.wanted, UNRECORDED, draw.short)
}

/** Some of it has been shaken out. */
function isOpened(pour: Pour | undefined): boolean {
  return pour?.stock.outs.some(({ got }) => got.length > 0) ?? false
}

/** Castings that left from where nothing stood. */
function* driftingOf(flow: Flow): Iterable<Draw> {
  yield* flow.adrift
  for (const { uses } of flow.vessels.values()) for (const use of uses) if (!use.from) yield use
}

function node(
  about: About,
  { product, cavity }: Piece,
  slot: number,
  amount: number,
): CastingsNode {
  return { ...about, slot, product, cavity, castings: amount / 1000 }
}
