// What the floor's reports leave over, and what those that name their sources teach: gathered in one
// pass, from what is said alone and never from what was filled in.
import type { Ms } from '../../events/fact.ts'
import { kept, listed } from '../kept.ts'
import type { Floor } from './floor.ts'
import type { Handling } from './handling.ts'
import type { Example } from './line-dwell.ts'
import { type Piece, pieceOf } from './piece.ts'
import type { Pour } from './pour-stock.ts'
import { compareRanks, type Rank } from './rank.ts'
import { ALL, BEHIND, INFERRED } from './serving.ts'
import { type Draw, type Stock, thousandths } from './stock.ts'
import { Vessel } from './vessel.ts'

/** Castings that stand somewhere and that no report takes. */
export interface Leftover {
  /** Undefined where no report tells what became of them: then they are of unknown origin. */
  where: Stock | Vessel | undefined
  wanted: Piece
  /** Unit: thousandths of a casting; Infinity where nobody can say how many there were. */
  amount: number
  /** A large part of what was there: a report is missing, rather than a few miscounted. */
  large: boolean
  /** Since when they waited. */
  since: Ms
  /** Taken from here only by what comes after, */
  after: Rank
  /** and before this, if something else was put to them then. */
  until: Rank | undefined
}

/** How often castings took some way into a step, and how long it took them. */
export interface Way {
  castings: number
  /** Left there, and taken up. Unit: ms. */
  took: [since: Ms, at: Ms][]
}

// Miscounts are of a casting or two; a tenth of a load is a report that is missing. Common practice, no source.
const LARGE = 0.1
const HOUR = 3_600_000

export class Survey {
  /** By plant and the step that let go of them; `tote` where they stand in one. Oldest first. */
  readonly left = new Map<string, Leftover[]>()
  readonly leftOf = new Map<Pour, Leftover[]>()
  /** By line, then by the step that took castings of its pours. */
  readonly examples = new Map<number, Map<string, Example[]>>()
  /** By plant and the step that took castings, then by where they had waited: a step, tote or line. */
  readonly ways = new Map<string, Map<string | number, Way>>()
  readonly #floor: Floor
  readonly #hours = new Set<number>()
  #sorted: number[] | undefined
  #astray: Map<string, Leftover[]> | undefined

  constructor(floor: Floor) {
    this.#floor = floor
    const { flow } = floor
    for (const load of flow.loads.values()) for (const one of load.handlings) this.#handling(one)
    for (const packing of flow.packings.values()) {
      for (const { other, amount } of packing.sources) {
        if (flow.things.kind(other) === 'pour') continue
        this.#way(this.keyOf(packing.no, 'pack'), other, packing.when, amount)
      }
    }
    for (const vessel of flow.vessels.values()) if (vessel.kind === 'tote') this.#tote(vessel)
    for (const pour of flow.pours.values()) this.leftOf.set(pour, leftInPour(pour))
    for (const list of this.left.values()) list.sort((a, b) => a.since - b.since)
  }

  /** Where so many are left over that a report must be missing: by plant, oldest first. */
  get astray(): ReadonlyMap<string, readonly Leftover[]> {
    if (this.#astray) return this.#astray
    const astray = new Map<string, Leftover[]>()
    const { things } = this.#floor.flow
    const note = (of: Leftover) => {
      if (of.large) listed(astray, things.plant(of.where!.no)).push(of)
    }
    for (const list of this.left.values()) list.forEach(note)
    for (const list of this.leftOf.values()) list.forEach(note)
    for (const list of astray.values()) list.sort((a, b) => a.since - b.since)
    this.#astray = astray
    return astray
  }

  /** Plants share nothing. */
  keyOf(no: number, step: string): string {
    return `${this.#floor.flow.things.plant(no)} ${step}`
  }

  /** Running time up to a moment: hours in which no load began or ended a step do not count. */
  runningAt(at: Ms): Ms {
    this.#sorted ??= [...this.#hours].sort((a, b) => a - b)
    const hour = Math.floor(at / HOUR)
    let [low, high] = [0, this.#sorted.length]
    while (low < high) {
      const middle = (low + high) >>> 1
      if (this.#sorted[middle]! < hour) low = middle + 1
      else high = middle
    }
    return low * HOUR + (this.#sorted[low] === hour ? at - hour * HOUR : 0)
  }

  #handling(handling: Handling): void {
    const { report, step, begin, end, main } = handling
    if (!report) return
    this.#hours.add(Math.floor(begin.at / HOUR)).add(Math.floor(end.at / HOUR))
    if (report.via === undefined) {
      const own = ({ turn, rank }: Draw) => turn <= BEHIND && compareRanks(rank, end) === 0
      const amount = handling.leaving - taken(main.outs.filter((draw) => !own(draw)))
      if (amount > 0) {
        const large = amount >= LARGE * handling.leaving
        const wanted = pieceOf(report.product)
        const leftover = { where: main, wanted, amount, large, since: end.at, after: begin }
        listed(this.left, this.keyOf(handling.load, step)).push({ ...leftover, until: undefined })
      }
    }
    this.#learnFrom(handling)
  }

  #learnFrom({ load, step: own, report, sources, begin }: Handling): void {
    if (sources.length === 0) return
    const { flow } = this.#floor
    const step = this.keyOf(load, own)
    const parts = new Map<number, number>()
    for (const { other, amount } of sources) {
      if (flow.things.kind(other) !== 'pour') this.#way(step, other, begin, amount)
      else if (amount !== undefined) parts.set(other, (parts.get(other) ?? 0) + amount)
    }
    if (parts.size === 0) return
    const pours = [...parts].map(([no, castings]) => ({ pour: flow.pour(no), castings }))
    const line = pours[0]!.pour.poured?.via
    if (line === undefined || pours.some(({ pour }) => pour.poured?.via !== line)) return
    const castings = pours.reduce((sum, part) => sum + part.castings, 0)
    const way = this.#wayOf(step, line)
    way.castings += castings
    listed(
      kept(this.examples, line, () => new Map<string, Example[]>()),
      step,
    ).push({
      from: begin.at,
      at: report!.at,
      parts: pours.map(({ pour, castings }) => ({
        poured: pour.poured!,
        count: pour.count,
        castings,
      })),
    })
  }

  #way(step: string, source: number, rank: Rank, castings = 1): void {
    const { flow } = this.#floor
    const where = flow.where(source, rank, thousandths(castings))
    const [from, since] =
      where instanceof Vessel
        ? [this.keyOf(source, 'tote'), where.filledBefore(rank)?.at]
        : this.#endOf(source, where)
    if (from === undefined || since === undefined) return
    const way = this.#wayOf(step, from)
    way.castings += castings
    way.took.push([since, rank.at])
  }

  #endOf(load: number, stock: Stock | undefined): [from?: string, since?: Ms] {
    const { loads } = this.#floor.flow
    const found = loads.get(load)?.handlings.find(({ main }) => main === stock)
    return found ? [this.keyOf(load, found.step), found.end.at] : []
  }

  #wayOf(step: string, from: string | number): Way {
    const ways = kept(this.ways, step, () => new Map<string | number, Way>())
    return kept(ways, from, () => ({ castings: 0, took: [] }))
  }

  #tote(vessel: Vessel): void {
    for (const { after, until, left, filled, product } of vessel.spells()) {
      if (left <= 0) continue
      const large = left >= LARGE * filled
      const wanted = pieceOf(product)
      listed(this.left, this.keyOf(vessel.no, 'tote')).push({
        where: vessel,
        wanted,
        amount: left,
        large,
        since: after.at,
        after,
        until,
      })
    }
  }
}

/** Of a pour, by product, what no report takes out of its molds. */
function leftInPour({ stock, count, poured, made }: Pour): Leftover[] {
  if (!poured) return []
  const byProduct = new Map<string, number>()
  for (const { piece, amount } of count?.casts ?? []) {
    byProduct.set(piece.product, (byProduct.get(piece.product) ?? 0) + amount)
  }
  const all = { where: stock, since: poured.at, after: stock.rank, until: undefined }
  if (stock.endless) {
    const wanted = pieceOf()
    return [{ ...all, wanted, amount: Number.POSITIVE_INFINITY, large: true }]
  }
  const gone = new Map<string, number>()
  for (const { wanted, amount, turn } of stock.outs) {
    if (turn === ALL || turn === INFERRED) continue
    for (const [product, there] of byProduct) {
      const part = wanted.product === '' ? there / made : wanted.product === product ? 1 : 0
      if (part > 0) gone.set(product, (gone.get(product) ?? 0) + part * amount)
    }
  }
  return [...byProduct].flatMap(([product, there]) => {
    const amount = there - (gone.get(product) ?? 0)
    if (amount < 1) return []
    return [{ ...all, wanted: pieceOf(product), amount, large: amount >= LARGE * there }]
  })
}

function taken(draws: readonly Draw[]): number {
  return draws.reduce(
    (sum, { turn, amount }) => (turn === ALL || turn === INFERRED ? sum : sum + amount),
    0,
  )
}
