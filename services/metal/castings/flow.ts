// The flow of castings: who takes from where. Reports are tied to the stocks their words mean;
// when something is said anew, those that may mean something else now are tied again, and what
// depends on it is worked out in the order in which castings move.
import type { Ms } from '../../events/fact.ts'
import { kept } from '../kept.ts'
import type { Things } from '../things.ts'
import { type Handling, Load } from './handling.ts'
import type { Unsourced } from './inference.ts'
import { Mixing } from './mixing.ts'
import type { Packing, Repacking, Shipping } from './packing.ts'
import { Pour } from './pour-stock.ts'
import { Queue } from './queue.ts'
import { compareRanks, type Rank } from './rank.ts'
import { type Draw, type Inflow, type Stock, thousandths } from './stock.ts'
import { type Fill, Vessel } from './vessel.ts'

/** A report that takes castings from somewhere. */
export interface Taker {
  readonly when: Rank
  /** What unties it. */
  readonly ties: (() => void)[]
  /** Sends castings to where others take them up. */
  send?(flow: Flow): void
  take?(flow: Flow): void
}

export class Flow {
  readonly mixing = new Mixing<Stock>()
  readonly things: Things
  readonly loads = new Map<number, Load>()
  readonly pours = new Map<number, Pour>()
  readonly vessels = new Map<number, Vessel>()
  readonly packings = new Map<number, Packing>()
  /** By the pack made. */
  readonly repackings = new Map<number, Set<Repacking>>()
  /** By pack. */
  readonly shippings = new Map<number, Set<Shipping>>()
  readonly shipments = new Map<number, Set<Shipping>>()
  /** Castings that ended somewhere else than where they stood, by where. */
  readonly ended = new Map<number, Set<Draw>>()
  /** Castings that left the flow from where no report tells. */
  readonly adrift = new Set<Draw>()
  /** Castings that came in from where no report tells. */
  readonly unsourced = new Set<Unsourced>()
  readonly #readers = new Map<number, Set<Reading>>()
  readonly #loose = new Set<Taker>()
  readonly #unchained = new Set<Vessel>()
  readonly #unsettled = new Queue<Stock>((a, b) => compareRanks(a.rank, b.rank))

  constructor(things: Things) {
    this.things = things
  }

  load(no: number): Load {
    return kept(this.loads, no, () => new Load())
  }

  pour(no: number): Pour {
    return kept(this.pours, no, () => new Pour(no, this.mixing))
  }

  vessel(no: number): Vessel {
    return kept(this.vessels, no, () => {
      return new Vessel(no, this.things.kind(no) === 'tote' ? 'tote' : 'pack')
    })
  }

  /** Where a thing's castings stand for someone of that rank; undefined when no report tells. */
  where(no: number, rank: Rank, wanted: number, self?: Handling): Stock | Vessel | undefined {
    switch (this.things.kind(no)) {
      case 'pour':
        return this.pour(no).stock
      case 'load': {
        const load = this.load(no)
        const meant = self?.load === no ? load.before(self) : load.meant(rank, wanted)
        return meant && this.left(meant, rank)
      }
      case 'tote':
      case 'pack':
        return this.vessel(no)
      default:
        return undefined
    }
  }

  /** Where castings went from a handling: into its tote once it ended, else they are the load. */
  left(handling: Handling, rank: Rank): Stock | Vessel {
    const tote = handling.report?.via
    if (tote === undefined || compareRanks(handling.end, rank) >= 0) return handling.main
    return this.vessel(tote)
  }

  /** How much a thing is said to hold, to weigh sources nobody counted. Unit: thousandths of a casting. */
  sizeOf(no: number, rank: Rank, taker: Taker, self?: Handling): number {
    const kind = this.things.kind(no)
    const until = kind === 'load' || kind === 'tote' ? rank.at : undefined
    this.read(no, taker, undefined, until)
    if (kind === 'pour') return this.pour(no).made
    if (kind === 'pack') {
      const lines = this.packings.get(no)?.lines ?? []
      return lines.reduce((sum, { amount }) => sum + thousandths(amount), 0)
    }
    const where = this.where(no, rank, 0, self)
    if (where instanceof Vessel) {
      if (where.no !== no) this.read(where.no, taker, undefined, until)
      return where.sizeAt(rank)
    }
    return this.loads.get(no)?.handlings.find(({ main }) => main === where)?.leaving ?? 0
  }

  /** When something was first put into a pack, as said. Unit: ms. */
  packedAt(no: number): Ms | undefined {
    let at = this.packings.get(no)?.lines[0]?.at
    for (const { fact } of this.repackings.get(no) ?? []) {
      if (at === undefined || fact.at < at) at = fact.at
    }
    return at
  }

  /** A taker that has to be tied anew when something is said of a thing between two moments. */
  read(
    no: number,
    taker: Taker,
    since = Number.NEGATIVE_INFINITY,
    until = Number.POSITIVE_INFINITY,
  ): void {
    const readings = kept(this.#readers, no, () => new Set<Reading>())
    const reading = { taker, since, until }
    readings.add(reading)
    taker.ties.push(() => readings.delete(reading))
  }

  /** Castings come out of `where` for a taker. */
  draw(where: Stock | Vessel | undefined, draw: Draw, taker: Taker): void {
    if (!draw.into && draw.rest?.thing !== undefined) {
      const ended = kept(this.ended, draw.rest.thing, () => new Set<Draw>())
      ended.add(draw)
      taker.ties.push(() => ended.delete(draw))
    }
    if (where instanceof Vessel) {
      where.use(draw)
      this.#unchained.add(where)
      taker.ties.push(() => {
        where.unuse(draw)
        this.#unchained.add(where)
      })
    } else if (where) {
      draw.from = where
      where.add(draw)
      this.touch(where)
      taker.ties.push(() => {
        where.drop(draw)
        this.touch(where)
      })
    } else {
      this.adrift.add(draw)
      taker.ties.push(() => this.adrift.delete(draw))
    }
  }

  /** Castings go into a vessel. */
  fill(vessel: Vessel, fill: Fill, taker: Taker): void {
    const stir = () => {
      this.#unchained.add(vessel)
      // Totes weigh by what was put in last. Packs weigh by their lines and are filled later than this.
      if (vessel.kind === 'tote') this.loosenReaders(vessel.no, fill.rank.at)
    }
    vessel.fill(fill)
    stir()
    taker.ties.push(() => {
      vessel.unfill(fill)
      stir()
    })
  }

  /** What was put into a vessel came from elsewhere than was thought. */
  refill(vessel: Vessel, fill: Fill, inflow: Inflow): void {
    vessel.refill(fill, inflow)
    this.#unchained.add(vessel)
  }

  /** Nobody said where castings came from that a report took. */
  miss(lacking: Unsourced, taker: Taker): void {
    this.unsourced.add(lacking)
    taker.ties.push(() => this.unsourced.delete(lacking))
  }

  /** Has to be worked out anew. */
  touch(stock: Stock): void {
    this.#unsettled.add(stock)
  }

  /** Has to be tied anew. */
  loosen(taker: Taker): void {
    if (this.#loose.has(taker)) return
    this.#loose.add(taker)
    for (const untie of taker.ties.splice(0)) untie()
  }

  /** Is not said any more. */
  drop(taker: Taker): void {
    this.loosen(taker)
    this.#loose.delete(taker)
  }

  /** Something else is said of a thing at a moment: those who read it there are tied anew. */
  loosenReaders(no: number, at: Ms): void {
    for (const { taker, since, until } of this.#readers.get(no) ?? []) {
      if (since <= at && at <= until) this.loosen(taker)
    }
  }

  /** Ties what is loose. */
  tie(): void {
    for (const taker of this.#loose) taker.send?.(this)
    for (const taker of this.#loose) taker.take?.(this)
    this.#loose.clear()
  }

  /** Works out what depends on what was tied; the stocks that were worked out. */
  settle(): Set<Stock> {
    const gone = new Set<Stock>()
    for (const vessel of this.#unchained) {
      vessel.chain(
        (stock) => this.touch(stock),
        (standing) => gone.add(standing),
      )
    }
    this.#unchained.clear()
    const settled = new Set<Stock>()
    for (let stock = this.#unsettled.take(); stock; stock = this.#unsettled.take()) {
      settled.add(stock)
      if (!gone.has(stock)) stock.settle(this.mixing, (taker) => this.touch(taker))
    }
    for (const stock of gone) stock.clear(this.mixing)
    return settled
  }
}

interface Reading {
  taker: Taker
  since: Ms
  until: Ms
}
