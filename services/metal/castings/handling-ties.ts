// What a handling takes from where, and where it sends what it removes.
import type { Flow, Taker } from './flow.ts'
import type { Handling, Join, Removal, Source } from './handling.ts'
import type { Unsourced } from './inference.ts'
import { type Piece, pieceOf } from './piece.ts'
import type { Rank } from './rank.ts'
import { ALL, BEHIND, GONE, SAID, SHARED } from './serving.ts'
import { shareOut } from './share-out.ts'
import { Draw, type Inflow, type Rest, type Stock, thousandths } from './stock.ts'
import { Vessel } from './vessel.ts'

// A source that was named gave at least one casting, even where the counts leave no room for it.
const LEAST = 1000

/** Ties what leaves: removals to where they went, the rest into the tote. */
export function sendOut(flow: Flow, handling: Handling): void {
  const named = (no: number) => handling.sources.some(({ other }) => other === no)
  const used = new Set<Stock>()
  for (const [n, removal] of inOrder(handling.removals).entries()) {
    const own = removal.other !== undefined && named(removal.other)
    const from = own ? handling.aside(removal.other!) : handling.main
    used.add(from)
    remove(flow, handling, from, removal, n)
  }
  for (const { stock } of handling.asides) if (!used.has(stock)) stock.clear(flow.mixing)
  handling.asides = handling.asides.filter(({ stock }) => used.has(stock))
  const tote = handling.report!.via
  if (tote === undefined) return
  const draw = new Draw({ amount: 0, turn: ALL, rank: handling.end })
  const inflow = { draws: [draw], piece: pieceOf() }
  flow.draw(handling.main, draw, handling)
  const { leaving: amount, report } = handling
  const fill = { rank: handling.end, inflow, scrap: false, amount, product: report?.product ?? '' }
  flow.fill(flow.vessel(tote), fill, handling)
}

function remove(flow: Flow, handling: Handling, from: Stock, removal: Removal, n: number): void {
  const { fate, via } = removal
  const rank = handling.end
  const wanted = pieceOf(removal.product ?? handling.report!.product)
  const amount = thousandths(removal.amount)
  const leave = (turn: typeof GONE | typeof BEHIND, rest?: Rest, into?: Stock) => {
    const draw = new Draw({ into, wanted, amount, turn, rank, n, rest })
    flow.draw(from, draw, handling)
    return draw
  }
  const kind = via === undefined ? undefined : flow.things.kind(via)
  if (via !== undefined && kind === 'load') {
    joinNext(flow, handling, rank, via, { of: handling.load, amount }, (into) => [
      leave(GONE, { place: 'IN_PROCESS', thing: via, fate }, into),
    ])
  } else if (via !== undefined && kind === 'tote') {
    const inflow = { draws: [leave(GONE)], piece: wanted }
    const fill = { rank, inflow, scrap: fate === 'scrap', amount, product: wanted.product }
    flow.fill(flow.vessel(via), fill, handling)
  } else if (via !== undefined || fate === 'scrap')
    leave(GONE, { place: 'SCRAPPED', thing: via, fate })
  else leave(BEHIND, { place: 'IN_PROCESS', fate })
}

/** Sends castings into the next handling of a load to begin; until there is one they wait under its name. */
export function joinNext(
  flow: Flow,
  taker: Taker,
  rank: Rank,
  load: number,
  sent: Omit<Join, 'draws'>,
  leave: (into: Stock | undefined) => Draw[],
): void {
  const next = flow.load(load).after(rank)
  flow.read(load, taker, rank.at, next?.from)
  const join: Join = { ...sent, draws: leave(next?.main) }
  if (!next) return
  next.joins.push(join)
  flow.loosen(next)
  taker.ties.push(() => {
    next.joins.splice(next.joins.indexOf(join), 1)
    flow.loosen(next)
  })
}

/** Ties what came in: what was sent here, what sources were said to give, and how much others gave. */
export function takeIn(flow: Flow, handling: Handling): void {
  const { main, begin } = handling
  const product = handling.report!.product
  const aside = takeAsides(flow, handling)
  const joined = byThing(handling.joins)
  const draws = handling.joins.flatMap((join) => join.draws)
  let rest = handling.came - total(aside) - total(joined)
  const uncounted: Source[] = []
  for (const [n, source] of inOrder(handling.sources).entries()) {
    watch(flow, handling, source.other)
    if (source.amount === undefined) {
      uncounted.push(source)
      continue
    }
    const amount = thousandths(source.amount)
    const here = amount - used(aside, source.other, amount)
    const left = here - used(joined, source.other, here)
    rest -= left
    draws.push(take(flow, handling, source, left, SAID, n))
  }
  let before: Stock | Vessel | undefined
  if (handling.sources.length === 0 && handling.step !== 'shake-out') {
    watch(flow, handling, handling.load)
    before = flow.where(handling.load, begin, rest, handling)
    if (before && rest > 0) {
      const draw = new Draw({
        into: main,
        wanted: pieceOf(product),
        amount: rest,
        turn: SHARED,
        rank: begin,
      })
      flow.draw(before, draw, handling)
      draws.push(draw)
    }
  }
  for (const [n, amount] of sharesOf(flow, handling, uncounted, rest).entries()) {
    draws.push(take(flow, handling, uncounted[n]!, amount, SHARED, n))
  }
  const apart = handling.asides.reduce((sum, { source }) => sum + removedOf(handling, source), 0)
  const inflow: Inflow = {
    draws,
    came: handling.came - apart,
    seen: handling.leaving + handling.removed - apart,
    piece: pieceOf(product),
  }
  main.inflows = [inflow]
  if (handling.sources.length === 0 && !before && rest > 0) miss(flow, handling, inflow, rest)
}

/** Nobody said where they came from: where else castings are left over may tell. */
function miss(flow: Flow, handling: Handling, inflow: Inflow, amount: number): void {
  const { main, load, step, begin, report } = handling
  const { product, line } = report!
  const lacking: Unsourced = {
    no: load,
    step,
    rank: begin,
    until: report!.at,
    product: product ?? '',
    amount,
    pour: (draws) => {
      for (const draw of draws) draw.into = main
      main.inflows = [{ ...inflow, draws: [...inflow.draws, ...draws] }]
      flow.touch(main)
    },
  }
  if (line !== undefined) lacking.line = line
  flow.miss(lacking, handling)
}

/** Castings removed as those of one source never mixed with the others. */
function takeAsides(flow: Flow, handling: Handling): Map<number, number> {
  const taken = new Map<number, number>()
  for (const { source, stock } of handling.asides) {
    const amount = removedOf(handling, source)
    taken.set(source, amount)
    const draw = new Draw({ into: stock, amount, turn: SAID, rank: handling.begin, n: -1 })
    flow.draw(flow.where(source, handling.begin, amount, handling), draw, handling)
    const piece = pieceOf(handling.report!.product)
    stock.inflows = [{ draws: [draw], came: amount, piece }]
  }
  return taken
}

function take(
  flow: Flow,
  handling: Handling,
  source: Source,
  amount: number,
  turn: typeof SAID | typeof SHARED,
  n: number,
): Draw {
  const wanted = wantedOf(handling, source)
  const draw = new Draw({ into: handling.main, wanted, amount, turn, rank: handling.begin, n })
  const where = flow.where(source.other, handling.begin, amount, handling)
  draw.emptied = source.emptied === true && where instanceof Vessel
  flow.draw(where, draw, handling)
  return draw
}

/** What sources nobody counted gave: all that is not accounted for, by what they are said to hold. */
function sharesOf(
  flow: Flow,
  handling: Handling,
  sources: readonly Source[],
  rest: number,
): number[] {
  if (sources.length < 2) return sources.map(() => Math.max(rest, LEAST))
  const sizes = sources.map(({ other }) => flow.sizeOf(other, handling.begin, handling, handling))
  return shareOut(Math.max(rest, 0), sizes).map((share) => Math.max(share, LEAST))
}

/** Which handling a load's name means may change with what is said of it up to then. */
function watch(flow: Flow, handling: Handling, no: number): void {
  if (flow.things.kind(no) === 'load') flow.read(no, handling, undefined, handling.begin.at)
}

function wantedOf(handling: Handling, source: Source): Piece {
  return pieceOf(source.product ?? handling.report!.product, source.cavity)
}

function removedOf(handling: Handling, source: number): number {
  return handling.removals.reduce(
    (sum, { other, amount }) => sum + (other === source ? thousandths(amount) : 0),
    0,
  )
}

function byThing(joins: readonly Join[]): Map<number, number> {
  const amounts = new Map<number, number>()
  for (const { of, amount } of joins) amounts.set(of, (amounts.get(of) ?? 0) + amount)
  return amounts
}

function total(amounts: Map<number, number>): number {
  let sum = 0
  for (const amount of amounts.values()) sum += amount
  return sum
}

/** Takes up to `most` from what stands beside a name. */
function used(amounts: Map<number, number>, no: number, most: number): number {
  const amount = Math.min(amounts.get(no) ?? 0, most)
  if (amount > 0) amounts.set(no, amounts.get(no)! - amount)
  return amount
}

/** The order of a report's lines must not depend on how they arrived. */
function inOrder<F extends Source | Removal>(facts: readonly F[]): F[] {
  if (facts.length < 2) return [...facts]
  const keyed = facts.map((fact) => ({ fact, key: keyOf(fact) }))
  return keyed.sort((a, b) => (a.key < b.key ? -1 : a.key > b.key ? 1 : 0)).map(({ fact }) => fact)
}

function keyOf(fact: Source | Removal): string {
  const own = fact.what === 'load-source' ? [fact.cavity] : [fact.fate, fact.via]
  return [fact.other, fact.product, fact.amount, ...own].join('\u0000')
}
