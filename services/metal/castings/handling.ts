// One load at one step in one go, and which of its handlings the name of a load means.
import type { FactOf, Ms, Step } from '../../events/fact.ts'
import type { Flow, Taker } from './flow.ts'
import { sendOut, takeIn } from './handling-ties.ts'
import { beginOf, compareRanks, endOf, type Rank } from './rank.ts'
import { type Draw, Stock, thousandths } from './stock.ts'

type Handled = FactOf<'load-handled', number>
export type Source = FactOf<'load-source', number>
export type Removal = FactOf<'load-removed', number>

/** Castings that come in because another report sent them here. */
export interface Join {
  /** The load or pack they came out of. */
  of: number
  /** As said. Unit: thousandths of a casting. */
  amount: number
  draws: Draw[]
}

export class Handling implements Taker {
  readonly load: number
  readonly #tie: number
  readonly step: Step
  readonly pass: number
  readonly from: Ms
  readonly reports: Handled[] = []
  readonly sources: Source[] = []
  readonly removals: Removal[] = []
  readonly joins: Join[] = []
  readonly ties: (() => void)[] = []
  /** Takes castings at its begin, lets go of them at its end. */
  begin: Rank
  end: Rank
  /** What came in and left the step. */
  main: Stock
  /** By source: what came from it and was removed at once. */
  asides: { source: number; stock: Stock }[] = []

  /** `tie` of the load, see tieOfThing. */
  constructor(
    { of, step, pass, from }: { of: number; step: Step; pass: number; from: Ms },
    tie: number,
  ) {
    this.load = of
    this.#tie = tie
    this.step = step
    this.pass = pass
    this.from = from
    this.begin = beginOf({ tie, step, pass, from, at: from })
    this.end = this.begin
    this.main = this.#stock()
  }

  get when(): Rank {
    return this.begin
  }

  /** Of two reports of one step and begin, the one of the later end counts. */
  get report(): Handled | undefined {
    if (this.reports.length < 2) return this.reports[0]
    return this.reports.toSorted((a, b) => b.at - a.at || b.amount - a.amount)[0]
  }

  /** Leaving the step. Unit: thousandths of a casting. */
  get leaving(): number {
    return thousandths(this.report?.amount ?? 0)
  }

  /** Unit: thousandths of a casting. */
  get removed(): number {
    return this.removals.reduce((sum, { amount }) => sum + thousandths(amount), 0)
  }

  /** What came in, as far as counts tell. Unit: thousandths of a casting. */
  get came(): number {
    return Math.max(thousandths(this.report?.castingsIn ?? 0), this.leaving + this.removed)
  }

  get stocks(): Stock[] {
    return this.asides.length === 0
      ? [this.main]
      : [this.main, ...this.asides.map(({ stock }) => stock)]
  }

  send(flow: Flow): void {
    if (this.report) sendOut(flow, this)
  }

  take(flow: Flow): void {
    if (this.report) takeIn(flow, this)
    for (const stock of this.stocks) {
      if (!this.report) stock.inflows = []
      flow.touch(stock)
    }
  }

  /** Takes its place in time anew; the stocks it had, if they have to be others there. */
  place(): Stock[] {
    const spell = {
      tie: this.#tie,
      step: this.step,
      pass: this.pass,
      from: this.from,
      at: this.report?.at ?? this.from,
    }
    const before = this.begin
    this.begin = beginOf(spell)
    this.end = endOf(spell)
    if (compareRanks(before, this.begin) === 0) return []
    const gone = this.stocks
    this.main = this.#stock()
    this.asides = []
    return gone
  }

  /** Where castings of one source stand that were removed as its own. */
  aside(source: number): Stock {
    const known = this.asides.find((aside) => aside.source === source)
    if (known) return known.stock
    const stock = this.#stock()
    this.asides.push({ source, stock })
    return stock
  }

  #stock(): Stock {
    return new Stock(this.load, this.begin, { place: 'IN_PROCESS' })
  }
}

/** The handlings of one load. */
export class Load {
  #handlings: Handling[] = []

  /** In order of their begin. */
  get handlings(): readonly Handling[] {
    return this.#handlings
  }

  find(key: { step: Step; pass: number; from: Ms }): Handling | undefined {
    return this.#handlings.find(
      (h) => h.step === key.step && h.pass === key.pass && h.from === key.from,
    )
  }

  add(handling: Handling): Handling {
    this.#handlings.push(handling)
    this.sort()
    return handling
  }

  delete(handling: Handling): void {
    this.#handlings.splice(this.#handlings.indexOf(handling), 1)
  }

  sort(): void {
    if (this.#handlings.length > 1) this.#handlings.sort((a, b) => compareRanks(a.begin, b.begin))
  }

  /** The load as it left its step before. */
  before(handling: Handling): Handling | undefined {
    return this.#handlings.findLast(
      (other) => other.report && compareRanks(other.begin, handling.begin) < 0,
    )
  }

  /** The next handling to begin. */
  after(rank: Rank): Handling | undefined {
    return this.#handlings.find((other) => other.report && compareRanks(other.begin, rank) > 0)
  }

  /**
   * The handling meant by the load's name: the latest that ended before `rank`. Where that one passed
   * on so much that `wanted` is not left, clocks are off: it means the one that was still going on.
   */
  meant(rank: Rank, wanted: number, except?: Handling): Handling | undefined {
    let [ended, begun]: (Handling | undefined)[] = []
    for (const handling of this.#handlings) {
      if (handling === except || !handling.report) continue
      if (compareRanks(handling.begin, rank) < 0) begun = handling
      if (compareRanks(handling.end, rank) >= 0) continue
      if (!ended || compareRanks(handling.end, ended.end) > 0) ended = handling
    }
    if (!ended || !begun || compareRanks(begun.begin, ended.begin) <= 0) return ended ?? begun
    return ended.leaving - begun.came < wanted ? begun : ended
  }
}
