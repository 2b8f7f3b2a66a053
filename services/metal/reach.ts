// Where something went, and how surely. Metal carries shares to pours, molds cut them into castings,
// and from there on a share becomes a chance. One of four words stands for each thing; clear is the
// only one that needs every report.
import type { Grams, Ms } from '../events/fact.ts'
import { likeThoseBeside, sidesOf } from './beside.ts'
import type { CastingsNode } from './castings/places.ts'
import type { Undecided } from './castings/undecided.ts'
import type { Castings } from './castings.ts'
import { chanceAtLeast, type Ends, likelyEnds, type Orders, sureEnds, withMore } from './doubt.ts'
import type { Followed, View } from './followed.ts'
import { ordersOf } from './habit.ts'
import type { Forward, Span } from './ledger.ts'
import { Odds } from './odds.ts'

export type Standing = 'certain' | 'possible' | 'unknown' | 'clear'

/** From which point on a casting counts. */
export type Threshold =
  /** At least this part of its metal. Where it clears nothing, less of it is not known either. */
  | { share: number; clearsNothing?: boolean }
  /** Any of it at all. */
  | { touched: true }

/** One pour and what is in its metal. `high` takes in `gap`, unrecorded metal that could be what is followed. */
export interface PourShare {
  pour: number
  at: Ms
  grams: Grams
  castings: number
  best: number
  low: number
  high: number
  gap: number
  /** Molds filled before and after a top-up differ; most pours have one part. */
  parts: PartShare[]
}

interface PartShare {
  /** Of the pour's molds. */
  part: number
  best: number
  /** Ends of an interval that holds 95 in 100; the upper one takes in the gap. */
  low: number
  high: number
  /** Ends that nothing is beyond, as good as surely. */
  surely: Ends
  gap: number
  span: Span
}

/** A group of castings at one place, and how it stands. */
export interface Affected {
  node: CastingsNode
  standing: Standing
  /** That one casting of it is affected: best, and the ends that the reports leave possible. */
  chance: number
  low: number
  high: number
  /** Whether sources were filled in on its way that nobody named. */
  filledIn: boolean
  /** Whether some of it is of unknown origin and may be affected. */
  open: boolean
}

export interface Scope {
  nodes: Affected[]
  pours: { share: PourShare; standing: Standing }[]
  total: Tally
  /** Every load at every step, as it came in there: also those of which nothing is left. */
  handled(): Affected[]
  /** Of castings taken together, for the rows that are looked at. */
  odds: Odds
  /** Part of the followed metal in pours that do not count; undefined when nothing by mass is followed. */
  leftOut: number | undefined
  /** Most of it in one casting of them. */
  mostLeftOutGrams: Grams | undefined
}

/** Castings by standing. */
export interface Tally {
  certain: number
  possible: number
  unknown: number
  clear: number
  expected: number
  /** Fewest and most that can be affected as far as the reports go. */
  least: number
  most: number
}

// A share worked out in floating point may fall this far short of the asked one and still count.
const ROUNDING = 1e-12
const NEARLY_ALL = 1 - 1e-9

/** The pours something by mass is in, worked out once for every threshold asked afterwards. */
export class Reach {
  readonly view: View
  readonly followed: Followed
  readonly pours: PourShare[]
  /** Whether anything was followed by mass. */
  readonly byMass: boolean
  /** By pour, the best share of the pours before and after it of which nearly all is known. */
  readonly #beside: number[][]
  /** Every group of castings at its place, listed once for all thresholds. */
  #groups: CastingsNode[] | undefined
  #undecided: Undecided[] | undefined
  /** By slot: part of it whose sources were filled in, and part that came from any pour; the same for all thresholds. */
  #filled: Float64Array | undefined
  #known: Float64Array | undefined
  /** Of the last threshold, to sweep into again. */
  #swept: Partial<Record<Lean, Float64Array>> = {}

  constructor(view: View, followed: Followed) {
    this.view = view
    this.followed = followed
    this.byMass =
      followed.seeds.length > 0 || followed.flood.length > 0 || followed.perhaps.length > 0
    this.pours = this.byMass ? sharesOfPours(view, followed) : []
    this.#beside = besides(view, this.pours)
  }

  /** How every casting stands at a threshold; exact for each. */
  scope(threshold: Threshold): Scope {
    const { castings } = this.view
    const seeds = {
      best: new Map<number, number>(),
      low: new Map<number, number>(),
      high: new Map<number, number>(),
      open: new Map<number, number>(),
    }
    const pours: Scope['pours'] = []
    let [inside, outside, mostLeftOutGrams] = [0, 0, 0]
    for (const [i, share] of this.pours.entries()) {
      const like = { beside: this.#beside[i]!, orders: this.#ordersOf(share) }
      const counted = countParts(share, threshold, like)
      const standing = this.#unlessOpen(
        standingOf(counted.low, counted.high, counted.open),
        share.at,
      )
      pours.push({ share, standing })
      if (standing === 'clear') {
        outside += share.best * share.grams
        mostLeftOutGrams = Math.max(mostLeftOutGrams, share.best * castings.heaviestOf(share.pour))
      } else inside += share.best * share.grams
      if (standing === 'clear') continue
      for (const unit of castings.unitsOf(share.pour)) {
        for (const lean of LEANS) if (counted[lean] > 0) seeds[lean].set(unit.slot, counted[lean])
      }
    }
    this.#groups ??= [...castings.nodes()]
    const nodes = this.#judge(seeds, this.#groups)
    return {
      nodes,
      pours,
      total: tally(nodes),
      handled: () => this.#judge(seeds, castings.handled()),
      odds: new Odds(castings, seeds, {
        sure: this.followed.touched,
        perhaps: this.followed.perhapsTouched,
      }),
      leftOut: this.byMass ? outside / (inside + outside || 1) : undefined,
      mostLeftOutGrams: this.byMass ? mostLeftOutGrams : undefined,
    }
  }

  #unlessOpen(standing: Standing, at: Ms): Standing {
    return standing === 'clear' && at >= this.followed.openFrom ? 'unknown' : standing
  }

  /** Looked up only where it matters: it takes a look at the lots of the plant. */
  #ordersOf({ pour, parts }: PourShare): Orders | undefined {
    const { things } = this.view
    const matters = parts.some(({ span }) => span.likely?.orders !== undefined)
    return matters ? ordersOf(this.view, things.plant(pour)) : undefined
  }

  /** How castings stand, place by place or load by load. */
  #judge(seeds: Record<Lean, Map<number, number>>, nodes: Iterable<CastingsNode>): Affected[] {
    const { castings } = this.view
    const { best, low, high, open } = this.#sweep(seeds)
    this.#filled ??= castings.ledger.forward([], {
      force: [...castings.filledSlots()].map((slot): [number, number] => [slot, 1]),
    })
    this.#known ??= castings.ledger.forward(allLeaves(castings))
    const judged: Affected[] = []
    for (const node of nodes) {
      const s = node.slot
      const most = Math.min(1, high[s]! + open[s]!)
      judged.push({
        node,
        standing: this.#unlessOpen(standingOf(low[s]!, high[s]!, open[s]!), node.at),
        chance: knownChance(best[s]!, this.#known[s]!, most),
        low: low[s]!,
        high: most,
        filledIn: this.#filled[s]! > 0,
        open: open[s]! > 0,
      })
    }
    likeThoseBeside(judged, (slot) => this.#known![slot]! > 0)
    return judged
  }

  #sweep(seeds: Record<Lean, Map<number, number>>): Record<Lean, Float64Array> {
    const { castings } = this.view
    const { touched, perhapsTouched, begins } = this.followed
    const sure = [...touched].map((slot): [number, number] => [slot, 1])
    const none = [...touched].map((slot): [number, number] => [slot, 0])
    const perhaps = [...perhapsTouched]
      .filter((slot) => !touched.has(slot))
      .map((slot): [number, number] => [slot, 1])
    const sweep = (lean: Lean, how: Forward) => {
      const into = this.#swept[lean]
      const swept = castings.ledger.forward(seeds[lean], { ...how, into })
      this.#swept[lean] = swept
      return swept
    }
    const filled = [...castings.filledSlots()].filter((slot) => !touched.has(slot))
    const best = sweep('best', { force: sure })
    const low = sweep('low', { force: [...sure, ...filled.map((s): [number, number] => [s, 0])] })
    let high = sweep('high', { force: sure })
    // What was filled in is no proof of how many: from one source that counts, all may be.
    const perhapsAll = filled.filter((slot) => high[slot]! > 0)
    if (perhapsAll.length > 0) {
      const all = perhapsAll.map((slot): [number, number] => [slot, 1])
      high = sweep('high', { force: [...sure, ...all] })
    }
    const settled = new Map([...perhaps, ...none])
    const openSweep = () => sweep('open', { force: settled, gaps: { from: begins } })
    let open = openSweep()
    while (this.#settle(settled, high, open)) open = openSweep()
    return { best, low, high, open }
  }

  /** Opens what may hold, against what clocks say, something that counts; whether anything was. */
  #settle(settled: Map<number, number>, high: Float64Array, open: Float64Array): boolean {
    const most = (slot: number) => Math.min(1, high[slot]! + open[slot]!)
    this.#undecided ??= [...this.view.castings.undecided()]
    let news = false
    for (const { slot, perhaps } of this.#undecided) {
      const share = Math.max(...perhaps.map(most))
      if (share <= most(slot) + ROUNDING || this.followed.touched.has(slot)) continue
      open[slot] = share - high[slot]!
      settled.set(slot, open[slot]!)
      news = true
    }
    return news
  }
}

type Lean = 'best' | 'low' | 'high' | 'open'
const LEANS: readonly Lean[] = ['best', 'low', 'high', 'open']

/**
 * The four words. Unknown gives way only to what is surely or possibly affected, since all three are
 * held; nothing with an open report is ever clear.
 */
export function standingOf(low: number, high: number, open: number): Standing {
  if (low >= NEARLY_ALL) return 'certain'
  if (high > 0) return 'possible'
  return open > 0 ? 'unknown' : 'clear'
}

export function tally(nodes: Iterable<Affected>): Tally {
  const count: Tally = {
    certain: 0,
    possible: 0,
    unknown: 0,
    clear: 0,
    expected: 0,
    least: 0,
    most: 0,
  }
  for (const { node, standing, chance, low, high } of nodes) {
    count[standing] += node.castings
    count.expected += chance * node.castings
    count.least += low * node.castings
    count.most += high * node.castings
  }
  return count
}

function sharesOfPours(view: View, followed: Followed): PourShare[] {
  const { melt, castings, asOf } = view
  // First, because a pour of which no metal was ever read gets its slot here, for the sweeps to see.
  const pours = [...castings.pours()].map((pour) => ({
    ...pour,
    parts: melt.pourParts(pour.no, asOf),
  }))
  const spanOf = melt.ledger.follow(followed.seeds, {
    asOf,
    flood: followed.flood,
    gapsFrom: followed.gapsFrom,
    perhaps: followed.perhaps,
    worth: followed.worth,
    doubt: true,
  })
  // What could be it is taken to be worth as much as any of it is.
  const most = followed.worth ? Math.max(...[...followed.worth.values()].map((w) => w.high)) : 1
  const shares: PourShare[] = []
  for (const { parts, ...pour } of pours) {
    const molds = parts.reduce((sum, part) => sum + part.molds, 0)
    const found = parts.map(({ slot, molds: filled }) => {
      const span = spanOf(slot)
      const { best } = span
      const gap = most * span.gap
      const surely = sureEnds(span)
      const { low, high } = likelyEnds(span)
      return {
        part: filled / molds,
        best,
        low,
        high: Math.min(most, high + gap),
        surely,
        gap,
        span,
      }
    })
    const nothing = found.every((part) => part.high === 0)
    if (nothing && pour.at < followed.openFrom) continue
    const mean = (lean: 'best' | 'low' | 'high' | 'gap') =>
      found.reduce((sum, part) => sum + part.part * part[lean], 0)
    shares.push({
      pour: pour.no,
      at: pour.at,
      grams: pour.grams,
      castings: pour.castings,
      best: mean('best'),
      low: mean('low'),
      high: mean('high'),
      gap: mean('gap'),
      parts: found,
    })
  }
  return shares
}

/** Castings of unknown origin are like the others of their pile, as far as they can be. */
function knownChance(best: number, known: number, most: number): number {
  return known > 0 ? Math.max(best, Math.min(best / known, most)) : best
}

function* allLeaves(castings: Castings): Iterable<[slot: number, value: number]> {
  for (const { slot } of castings.units()) yield [slot, 1]
}

/** Of a pour's molds, the parts that surely, as to be expected, possibly and perhaps count. */
function countParts(share: PourShare, threshold: Threshold, like: Like): Record<Lean, number> {
  const counted = { best: 0, low: 0, high: 0, open: 0 }
  const enough = (value: number) =>
    'share' in threshold ? value > 0 && value >= threshold.share - ROUNDING : value > 0
  const unsure = (value: number) =>
    'share' in threshold && threshold.clearsNothing === true && value > 0
  for (const { part, best, surely, gap, span } of share.parts) {
    if (enough(surely.low)) counted.low += part
    if (enough(surely.high)) counted.high += part
    else if (enough(surely.high + gap) || unsure(surely.high + gap)) counted.open += part
    if (enough(surely.low)) counted.best += part
    else if (enough(surely.high + gap) && 'share' in threshold)
      counted.best += part * chanceWith(span, gap, like, threshold.share)
    else if (enough(surely.high)) counted.best += part * +enough(best)
  }
  return counted
}

/** Of a pour nearly all is known while less than this part of it could be anything. */
const NEARLY_KNOWN = 0.1

function besides({ castings }: View, shares: readonly PourShare[]): number[][] {
  if (shares.every(({ gap }) => gap === 0)) return shares.map(() => [])
  const found = new Map(shares.map((share) => [share.pour, share]))
  const inTime = [...castings.pours()].sort((a, b) => a.at - b.at || a.no - b.no)
  const isKnown = ({ no }: { no: number }) => (found.get(no)?.gap ?? 0) < NEARLY_KNOWN
  const sides = sidesOf(inTime, isKnown)
  const place = new Map(inTime.map(({ no }, i) => [no, i]))
  return shares.map(({ pour, gap }) =>
    gap === 0 ? [] : sides[place.get(pour)!]!.map(({ no }) => found.get(no)?.best ?? 0),
  )
}

/** What tells of a pour what its own reports do not. */
interface Like {
  /** Best share of the pours before and after it of which nearly all is known. */
  beside: readonly number[]
  /** In which order what lies in layers is taken; absent where it does not matter. */
  orders: Orders | undefined
}

/** What nobody reported is taken as like what was poured before, or as like what was poured after. */
function chanceWith(span: Span, gap: number, { beside, orders }: Like, share: number): number {
  if (gap === 0 || beside.length === 0) return chanceAtLeast(span, share, orders)
  const chances = beside.map((own) => chanceAtLeast(withMore(span, gap * own), share, orders))
  return chances.reduce((sum, chance) => sum + chance, 0) / chances.length
}
