// What castings stand in for a while: totes and packs. What is put in stands beside what stood there;
// from one filling to the next it is one standing, mixed.
import { kept } from '../kept.ts'
import { ANY } from './piece.ts'
import { compareRanks, type Rank } from './rank.ts'
import { ALL, compareDraws, Draw, type Inflow, Stock, type StockKind } from './stock.ts'

/** Something put into a vessel. */
export interface Fill {
  rank: Rank
  inflow: Inflow
  /** Scrap stays scrap as long as nothing else stands beside it. */
  scrap: boolean
  /** As said. Unit: thousandths of a casting. */
  amount: number
}

const KINDS = {
  tote: { place: 'IN_PROCESS' },
  pack: { place: 'IN_STOCK', mixesCavities: true },
} satisfies Record<'tote' | 'pack', StockKind>

export class Vessel {
  readonly no: number
  readonly kind: 'tote' | 'pack'
  readonly fills = new Set<Fill>()
  readonly uses = new Set<Draw>()
  /** Oldest first. */
  standings: Stock[] = []
  readonly #byRank = new Map<string, Stock>()
  readonly #carries = new Map<Stock, Inflow>()
  #emptied: { rank: Rank; standing: Stock | undefined }[] = []

  constructor(no: number, kind: 'tote' | 'pack') {
    this.no = no
    this.kind = kind
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
    for (const fill of this.fills) {
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

  /** Lays fillings and uses in order; calls back for stocks that are new, changed or gone. */
  chain(changed: (stock: Stock) => void, gone: (standing: Stock) => void): void {
    const before = new Map(this.standings.map((one) => [one, linksOf(one)]))
    const fills = [...this.fills].sort((a, b) => compareRanks(a.rank, b.rank))
    const uses = [...this.uses].sort((a, b) => compareRanks(a.rank, b.rank) || a.n - b.n)
    this.standings = []
    this.#emptied = []
    let current: Stock | undefined
    let next = 0
    const serve = (until: Rank | undefined) => {
      for (; next < uses.length; next++) {
        const use = uses[next]!
        if (until && compareRanks(use.rank, until) > 0) return
        if (moor(use, current) && use.into) changed(use.into)
        if (!use.emptied) continue
        this.#emptied.push({ rank: use.rank, standing: this.standings.at(-1) })
        if (current) current.place = 'UNACCOUNTED'
        current = undefined
      }
    }
    for (let i = 0; i < fills.length; ) {
      const { rank } = fills[i]!
      serve(rank)
      const together: Fill[] = []
      for (; i < fills.length && compareRanks(fills[i]!.rank, rank) === 0; i++)
        together.push(fills[i]!)
      current = this.#stand(rank, together, current)
    }
    serve(undefined)
    for (const standing of this.standings) {
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
      standing.inflows.push(carry)
      before.add(carry.draws[0]!)
    }
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
