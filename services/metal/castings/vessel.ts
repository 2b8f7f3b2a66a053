// What castings stand in for a while: totes and packs. What is put in stands beside what stood there;
// from one filling to the next it is one standing, mixed.
import { kept } from '../kept.ts'
import { ANY } from './piece.ts'
import { compareRanks, type Rank } from './rank.ts'
import { ALL, INFERRED } from './serving.ts'
import { compareDraws, Draw, type Inflow, Stock, type StockKind } from './stock.ts'

/** Something put into a vessel. */
export interface Fill {
  rank: Rank
  inflow: Inflow
  /** Scrap stays scrap as long as nothing else stands beside it. */
  scrap: boolean
  /** As said. Unit: thousandths of a casting. */
  amount: number
  /** As said; empty where it was not. */
  product: string
}

/** From one filling to the next, by what was said of it. */
interface VesselSpell {
  after: Rank
  until: Rank | undefined
  /** What stood there at first, and what nobody took. Unit: thousandths of a casting. */
  filled: number
  left: number
  product: string
}

const KINDS = {
  tote: { place: 'IN_PROCESS' },
  pack: { place: 'IN_STOCK', mixesCavities: true },
} satisfies Record<'tote' | 'pack', StockKind>

export class Vessel {
  readonly no: number
  readonly kind: 'tote' | 'pack'
  /** What was taken from it. */
  readonly uses: Draw[] = []
  /** Oldest first. */
  readonly standings: Stock[] = []
  readonly #fills: Fill[] = []
  readonly #byRank = new Map<string, Stock>()
  readonly #carries = new Map<Stock, Inflow>()
  #emptied: { rank: Rank; standing: Stock | undefined }[] = []
  /** From where on it has to be laid out anew. */
  #since: Rank | undefined

  constructor(no: number, kind: 'tote' | 'pack') {
    this.no = no
    this.kind = kind
  }

  fill(fill: Fill): void {
    this.#fills.push(fill)
    this.#stir(fill.rank)
  }

  unfill(fill: Fill): void {
    this.#fills.splice(this.#fills.indexOf(fill), 1)
    this.#stir(fill.rank)
  }

  use(use: Draw): void {
    this.uses.push(use)
    this.#stir(use.rank)
  }

  unuse(use: Draw): void {
    this.uses.splice(this.uses.indexOf(use), 1)
    this.#stir(use.rank)
  }

  get fills(): readonly Fill[] {
    return this.#fills
  }

  /** What stands there when something of that rank comes by. */
  standingAt(rank: Rank): Stock | undefined {
    const standing = this.standings.findLast((one) => compareRanks(one.rank, rank) < 0)
    const gone = this.#emptied.some(
      (one) => one.standing === standing && compareRanks(one.rank, rank) < 0,
    )
    return gone ? undefined : standing
  }

  /** Stated amount of what was put in last. Unit: thousandths of a casting. */
  sizeAt(rank: Rank): number {
    let last: Rank | undefined
    let amount = 0
    for (const fill of this.#fills) {
      if (compareRanks(fill.rank, rank) >= 0) continue
      const later = last === undefined ? 1 : compareRanks(fill.rank, last)
      if (later > 0) amount = 0
      if (later >= 0) {
        amount += fill.amount
        last = fill.rank
      }
    }
    return amount
  }

  /** The last filling before something of a rank. */
  filledBefore(rank: Rank): Rank | undefined {
    let last: Rank | undefined
    for (const fill of this.#fills) {
      if (compareRanks(fill.rank, rank) >= 0) continue
      if (!last || compareRanks(fill.rank, last) > 0) last = fill.rank
    }
    return last
  }

  /** Its book, oldest first: what was put in, less what was said to be taken. */
  *spells(): Iterable<VesselSpell> {
    const uses = this.uses.filter(({ turn }) => turn !== INFERRED && turn !== ALL).sort(byRank)
    const fills = this.#fills.toSorted(byRank)
    let [next, left, product] = [0, 0, '']
    for (let i = 0; i < fills.length; ) {
      const after = fills[i]!.rank
      const products = new Set(left > 0 ? [product] : [])
      for (; i < fills.length && compareRanks(fills[i]!.rank, after) === 0; i++) {
        left += fills[i]!.amount
        products.add(fills[i]!.product)
      }
      product = products.size === 1 ? [...products][0]! : ''
      const until = fills[i]?.rank
      const filled = left
      for (; next < uses.length && (!until || compareRanks(uses[next]!.rank, until) <= 0); next++) {
        left = uses[next]!.emptied ? 0 : Math.max(0, left - uses[next]!.amount)
      }
      yield { after, until, filled, left, product }
    }
  }

  /** Something put in came from elsewhere than was thought. */
  refill(fill: Fill, inflow: Inflow): void {
    fill.inflow = inflow
    this.#stir(fill.rank)
  }

  /** Lays fillings and uses in order; calls back for stocks that are new, changed or gone. */
  chain(changed: (stock: Stock) => void, gone: (standing: Stock) => void): void {
    const since = this.#since
    if (!since) return
    this.#since = undefined
    this.#fills.sort(byRank)
    this.uses.sort((a, b) => byRank(a, b) || a.n - b.n)
    // The standing that was there before the change is laid out anew; what is older stays.
    const first = this.standings.findLastIndex(({ rank }) => compareRanks(rank, since) < 0)
    const redone = this.standings.splice(Math.max(first, 0))
    const before = new Map(redone.map((one) => [one, linksOf(one)]))
    const from = first < 0 ? undefined : redone[0]!.rank
    const source = first < 0 ? undefined : this.#carries.get(redone[0]!)?.draws[0]?.from
    this.#lay(from, source, changed)
    for (let i = Math.max(first, 0); i < this.standings.length; i++) {
      const standing = this.standings[i]!
      const was = before.get(standing)
      before.delete(standing)
      if (!was || !sameLinks(was, linksOf(standing))) changed(standing)
    }
    for (const standing of before.keys()) {
      this.#byRank.delete(nameOf(standing.rank))
      this.#carries.delete(standing)
      gone(standing)
    }
  }

  #stir(rank: Rank): void {
    if (!this.#since || compareRanks(rank, this.#since) < 0) this.#since = rank
  }

  /** Lays out all from the filling of a rank on, which is put to what stood in the vessel then. */
  #lay(from: Rank | undefined, source: Stock | undefined, changed: (stock: Stock) => void): void {
    const fills = this.#fills
    let current = source
    let next = from ? this.uses.findIndex(({ rank }) => compareRanks(rank, from) > 0) : 0
    if (next < 0) next = this.uses.length
    this.#emptied = from ? this.#emptied.filter(({ rank }) => compareRanks(rank, from) <= 0) : []
    const serve = (until: Rank | undefined) => {
      while (next < this.uses.length) {
        const { rank } = this.uses[next]!
        if (until && compareRanks(rank, until) > 0) return
        let emptied = false
        for (; next < this.uses.length && byRank(this.uses[next]!, { rank }) === 0; next++) {
          const use = this.uses[next]!
          if (moor(use, current) && use.into) changed(use.into)
          emptied ||= use.emptied
        }
        if (!emptied) continue
        this.#emptied.push({ rank, standing: this.standings.at(-1) })
        if (current) current.place = 'UNACCOUNTED'
        current = undefined
      }
    }
    let i = from ? fills.findIndex(({ rank }) => compareRanks(rank, from) >= 0) : 0
    if (i < 0) i = fills.length
    while (i < fills.length) {
      const { rank } = fills[i]!
      if (!from || compareRanks(rank, from) > 0) serve(rank)
      const together: Fill[] = []
      for (; i < fills.length && compareRanks(fills[i]!.rank, rank) === 0; i++) {
        together.push(fills[i]!)
      }
      current = this.#stand(rank, together, current)
    }
    serve(undefined)
  }

  #stand(rank: Rank, fills: readonly Fill[], before: Stock | undefined): Stock {
    const name = nameOf(rank)
    const fresh = () => new Stock(this.no, rank, KINDS[this.kind])
    const standing = kept(this.#byRank, name, fresh)
    const scrap = fills.every((fill) => fill.scrap) && (!before || before.place === 'SCRAPPED')
    standing.place = scrap ? 'SCRAPPED' : KINDS[this.kind].place
    standing.outs = []
    standing.inflows = fills.map((fill) => fill.inflow)
    for (const { draws } of standing.inflows) for (const draw of draws) draw.into = standing
    if (before) {
      const carry = this.#carry(before, standing)
      const draw = carry.draws[0]!
      standing.inflows.push(carry)
      if (!before.outs.includes(draw)) before.add(draw)
    } else this.#carries.delete(standing)
    this.standings.push(standing)
    return standing
  }

  #carry(from: Stock, into: Stock): Inflow {
    const known = this.#carries.get(into)
    if (known && known.draws[0]!.from === from) return known
    const draw = new Draw({ from, into, amount: 0, turn: ALL, rank: into.rank })
    const carry = { draws: [draw], piece: ANY }
    this.#carries.set(into, carry)
    return carry
  }
}

/** Ties a use to what stands there; whether that is news. */
function moor(use: Draw, standing: Stock | undefined): boolean {
  if (standing) standing.add(use)
  if (use.from === standing) return false
  use.from = standing
  use.got = []
  use.short = use.amount
  return true
}

function byRank(a: { rank: Rank }, b: { rank: Rank }): number {
  return compareRanks(a.rank, b.rank)
}

function nameOf(rank: Rank): string {
  return `${rank.at} ${rank.tie}`
}

interface Links {
  outs: Draw[]
  inflows: Inflow[]
}

function linksOf({ outs, inflows }: Stock): Links {
  return { outs: [...outs].sort(compareDraws), inflows: [...inflows] }
}

function sameLinks(a: Links, b: Links): boolean {
  return sameList(a.outs, b.outs) && sameList(a.inflows, b.inflows)
}

function sameList(a: readonly unknown[], b: readonly unknown[]): boolean {
  return a.length === b.length && a.every((one, i) => one === b[i])
}
