// Packs: what was packed from where, packed anew into others, shipped, and came back.
import type { FactOf, Ms } from '../../events/fact.ts'
import { tieOfThing } from '../things.ts'
import { canonical, tieOf } from './fact-set.ts'
import type { Flow, Taker } from './flow.ts'
import { joinNext } from './handling-ties.ts'
import { pieceOf } from './piece.ts'
import { type Rank, rankOf } from './rank.ts'
import { GONE, SAID, SHARED } from './serving.ts'
import { shareOut } from './share-out.ts'
import { Draw, Stock, thousandths } from './stock.ts'

type PackLine = FactOf<'pack-line', number>
type PackSource = FactOf<'pack-source', number>
type Repacked = FactOf<'repacked', number>
type Shipped = FactOf<'shipped', number>
type Returned = FactOf<'castings-returned', number>

/** A pack as it was packed: its lines and where they say their castings came from. */
export class Packing implements Taker {
  readonly no: number
  readonly #tie: number
  readonly lines: PackLine[] = []
  readonly sources: PackSource[] = []
  readonly ties: (() => void)[] = []

  /** `tie` of the pack, see tieOfThing. */
  constructor(no: number, tie: number) {
    this.no = no
    this.#tie = tie
  }

  get when(): Rank {
    return rankOf('packed', this.lines[0]?.at ?? 0, this.#tie)
  }

  take(flow: Flow): void {
    for (const line of this.lines) this.#pack(flow, line)
  }

  #pack(flow: Flow, { line, product, amount }: PackLine): void {
    const rank = this.when
    const wanted = pieceOf(product)
    const came = thousandths(amount)
    const sources = this.sources.filter((source) => source.line === line)
    const tie = (no: number) => tieOfThing(flow.things, no)
    sources.sort((a, b) => tie(a.other) - tie(b.other) || (a.amount ?? -1) - (b.amount ?? -1))
    const said = sources.map((source) =>
      source.amount === undefined ? undefined : thousandths(source.amount),
    )
    const rest = came - said.reduce<number>((sum, one) => sum + (one ?? 0), 0)
    const open = sources.filter((source) => source.amount === undefined)
    const sizes = open.map(({ other }) => flow.sizeOf(other, rank, this))
    const shares = shareOut(Math.max(rest, 0), sizes)
    const draws = sources.map(({ other }, n) => {
      const turn = said[n] === undefined ? SHARED : SAID
      // A source that was named gave at least one casting, even where the counts leave no room for it.
      const part = said[n] ?? Math.max(shares.shift()!, 1000)
      const draw = new Draw({ wanted, amount: part, turn, rank, n: 1000 * line + n })
      if (flow.things.kind(other) === 'load') flow.read(other, this, undefined, rank.at)
      flow.draw(flow.where(other, rank, part), draw, this)
      return draw
    })
    const inflow = { draws, came, seen: came, piece: wanted }
    const fill = { rank, inflow, scrap: false, amount: came, product }
    const pack = flow.vessel(this.no)
    flow.fill(pack, fill, this)
    if (sources.length > 0 || came === 0) return
    const pour = (more: Draw[]) => flow.refill(pack, fill, { ...inflow, draws: more })
    const lacking = {
      no: this.no,
      step: 'pack' as const,
      rank,
      until: rank.at,
      product,
      amount: came,
      pour,
    }
    flow.miss(lacking, this)
  }
}

/** Castings that went from one pack into another. */
export class Repacking implements Taker {
  readonly fact: Repacked
  readonly #tie: number
  readonly ties: (() => void)[] = []
  #filledAt: Ms | undefined

  constructor(fact: Repacked, tie: number) {
    this.fact = fact
    this.#tie = tie
  }

  /** A pack is filled before it is emptied, whatever the clocks say. */
  get when(): Rank {
    return rankOf('repacked', Math.max(this.fact.at, this.#filledAt ?? this.fact.at), this.#tie)
  }

  take(flow: Flow): void {
    const { of, other, product } = this.fact
    flow.read(other, this)
    this.#filledAt = flow.packedAt(other)
    const rank = this.when
    const wanted = pieceOf(product)
    const amount = thousandths(this.fact.amount)
    const draw = new Draw({ wanted, amount, turn: SAID, rank })
    flow.draw(flow.vessel(other), draw, this)
    const inflow = {
      draws: [draw],
      came: amount,
      seen: amount,
      piece: wanted,
    }
    flow.fill(flow.vessel(of), { rank, inflow, scrap: false, amount, product }, this)
  }
}

/** Castings of one pack that left with one shipment. */
export class Shipping implements Taker {
  readonly fact: Shipped
  readonly #tie: number
  readonly ties: (() => void)[] = []
  stock: Stock

  constructor(fact: Shipped, tie: number) {
    this.fact = fact
    this.#tie = tie
    this.stock = this.#stock(fact.at)
  }

  get when(): Rank {
    return this.stock.rank
  }

  take(flow: Flow): void {
    flow.read(this.fact.other, this)
    const stock = this.place(flow)
    const amount = thousandths(this.fact.amount)
    const draw = new Draw({ into: stock, amount, turn: SAID, rank: stock.rank })
    flow.draw(flow.vessel(this.fact.other), draw, this)
    stock.inflows = [{ draws: [draw], piece: pieceOf() }]
    flow.touch(stock)
  }

  /** A pack is filled before it leaves, whatever the clocks say. */
  place(flow: Flow): Stock {
    const at = Math.max(this.fact.at, flow.packedAt(this.fact.other) ?? this.fact.at)
    if (at !== this.stock.rank.at) this.stock = this.#stock(at)
    return this.stock
  }

  #stock(at: Ms): Stock {
    return new Stock(this.fact.other, rankOf('shipped', at, this.#tie), {
      place: 'SHIPPED',
      passes: true,
    })
  }
}

/** Castings that came back from a customer. */
export class Returning implements Taker {
  readonly fact: Returned
  readonly #tie: number
  readonly ties: (() => void)[] = []

  constructor(fact: Returned, tie: number) {
    this.fact = fact
    this.#tie = tie
  }

  get when(): Rank {
    return rankOf('returned', this.fact.at, this.#tie)
  }

  send(flow: Flow): void {
    const { of, via, customer } = this.fact
    flow.read(of, this)
    const shipments = [...(flow.shippings.get(of) ?? [])].sort(byShipment)
    const theirs = shipments.filter(({ fact }) => fact.customer === customer)
    const from = theirs.length > 0 ? theirs : shipments
    const at = from.reduce((latest, one) => Math.max(latest, one.place(flow).rank.at), this.fact.at)
    const rank = rankOf('returned', at, this.#tie)
    const amount = thousandths(this.fact.amount)
    const leave = (into?: Stock) => this.#leave(flow, from, rank, amount, into)
    const kind = via === undefined ? undefined : flow.things.kind(via)
    if (via !== undefined && kind === 'load') {
      joinNext(flow, this, rank, via, { of, amount }, (into) => leave(into))
    } else if (via !== undefined && kind === 'tote') {
      const wanted = pieceOf(this.fact.product)
      const inflow = { draws: leave(), piece: wanted }
      const { product } = wanted
      flow.fill(flow.vessel(via), { rank, inflow, scrap: false, amount, product }, this)
    } else leave()
  }

  #leave(
    flow: Flow,
    from: readonly Shipping[],
    rank: Rank,
    amount: number,
    into: Stock | undefined,
  ): Draw[] {
    const { product, via, of } = this.fact
    const place = via !== undefined && flow.things.kind(via) === 'lot' ? 'SCRAPPED' : 'IN_PROCESS'
    const rest = { place, thing: via ?? of, fate: 'returned' } as const
    // Returns of one pack may all fall on the moment it left, where clocks are off.
    const tie = tieOf(canonical(this.fact)) * 64
    const made = (part: number, n: number) =>
      new Draw({ into, wanted: pieceOf(product), amount: part, turn: GONE, rank, n: tie + n, rest })
    if (from.length === 0) {
      const draw = made(amount, 0)
      flow.draw(undefined, draw, this)
      return [draw]
    }
    const parts = shareOut(
      amount,
      from.map(({ fact }) => fact.amount),
    )
    return from.map((shipping, n) => {
      const draw = made(parts[n]!, n)
      flow.draw(shipping.stock, draw, this)
      return draw
    })
  }
}

function byShipment(a: Shipping, b: Shipping): number {
  return a.fact.at - b.fact.at || a.stock.rank.tie - b.stock.rank.tie
}
