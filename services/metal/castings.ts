// The castings side of the genealogy: from facts in force to where every casting may have come from
// and where it is. Nothing here is stored: it is worked out from the facts, and anew where they change.
import type { Fact, Grams, Ms } from '../events/fact.ts'
import { type AtLeastOne, Drawing, type Group } from './castings/at-least-one.ts'
import { type Content, contentsOf, feedsOf } from './castings/contents.ts'
import { Floor } from './castings/floor.ts'
import { type Gap, gapsOf } from './castings/gaps.ts'
import type { Handling } from './castings/handling.ts'
import { type Bounds, HardBounds } from './castings/hard-bounds.ts'
import { type MassWeight, massWeightsOf, type PourShare, sharesOf } from './castings/metal.ts'
import { PartOf } from './castings/part-of.ts'
import { placeOf, slotsPast } from './castings/past-steps.ts'
import { type Balance, balanceOf, type CastingsNode, nodesOf, placesOf } from './castings/places.ts'
import type { Unit } from './castings/pour-stock.ts'
import type { Held } from './castings/serving.ts'
import type { Stock } from './castings/stock.ts'
import { type Through, throughMachine } from './castings/through.ts'
import { type Undecided, undecidedIn } from './castings/undecided.ts'
import { kept, listed } from './kept.ts'
import type { Ledger } from './ledger.ts'
import type { CastingsMetal } from './melt/yard.ts'
import type { Things } from './things.ts'

/** One load at one step in one go. */
export interface HandlingView {
  load: number
  step: string
  pass: number
  machine?: string
  line?: string
  from: Ms
  at: Ms
  /** Leaving the step. */
  castings: number
  /** What came in, by product and cavity. */
  slots: number[]
}

/** A pour and what it made; unreported where others only named it. */
export interface PourView {
  no: number
  reported: boolean
  line?: number
  from: Ms
  at: Ms
  castings: number
  /** Some of its castings are of no known number. */
  open: boolean
  /** Metal poured; 0 where nobody can say. */
  grams: Grams
}

/** A run of molds that a pour filled, or may have filled where several cover the same molds. */
export interface MoldsView {
  molds: number
  sand?: number
  pattern: string
  first: number
  last: number
  certain: boolean
}

export class Castings implements CastingsMetal {
  readonly #floor: Floor
  /** Worked out once between two changes: a lot of returns asks at every moment of its record. */
  readonly #metal = new Map<number, PourShare[]>()
  /** Until the next change: to look for them takes as long as the floor is. */
  #gaps: readonly Gap[] | undefined
  /** By slot: loads in which castings of it were ever held. */
  readonly #holders = new Map<number, number[]>()

  constructor(things: Things) {
    this.#floor = new Floor(things)
  }

  /** Amounts are thousandths of a casting; leaves are castings of one pour, product and cavity. */
  get ledger(): Ledger {
    return this.#floor.flow.mixing.ledger
  }

  /**
   * Takes in facts that came into force and facts that went out of it, found by identity, else by
   * value. Gives the things whose castings may be others now.
   */
  apply(added: Iterable<Fact<number>>, removed: Iterable<Fact<number>> = []): Set<number> {
    const settled = this.#floor.apply(added, removed)
    if (!settled) return new Set()
    this.#metal.clear()
    this.#gaps = undefined
    for (const { no, held } of settled)
      if (this.#floor.flow.loads.has(no))
        for (const { slot } of held) {
          const loads = listed(this.#holders, slot)
          if (!loads.includes(no)) loads.push(no)
        }
    return this.#downstream(settled)
  }

  /** Castings as they were made. */
  *units(): Iterable<Unit> {
    for (const pour of this.#floor.flow.pours.values()) yield* pour.units()
  }

  unitsOf(pour: number): Unit[] {
    return [...(this.#floor.flow.pours.get(pour)?.units() ?? [])]
  }

  /** Castings that stood, or may have stood, in the molds of a run; `castings` are those alone. */
  unitsOfMolds(molds: number): Content[] {
    return contentsOf(this.#floor, molds)
  }

  /** Castings poured on a line in a stretch of time, until not included. */
  unitsOnLine(line: number, from: Ms, until: Ms): Unit[] {
    const poured = [...(this.#floor.lines.get(line)?.pours ?? [])]
    return poured
      .filter((one) => one.from < until && one.at >= from)
      .flatMap(({ of }) => this.unitsOf(of))
  }

  /** Castings of a pour that nobody took out of its molds. */
  standingIn(pour: number): number {
    const left = this.#floor.flow.pours.get(pour)?.stock.left ?? []
    return left.reduce((sum, { amount }) => sum + amount, 0) / 1000
  }

  *pours(): Iterable<PourView> {
    for (const { no, poured, count, stock } of this.#floor.flow.pours.values()) {
      const castings = this.unitsOf(no).reduce((sum, unit) => sum + unit.castings, 0)
      if (!poured && castings === 0) continue
      const at = poured?.at ?? stock.outs[0]!.rank.at
      const grams = poured
        ? (poured.amount ?? (this.moldGrams(no) ?? 0) * (poured.last - poured.first + 1))
        : 0
      const open = count?.open ?? true
      const view: PourView = {
        no,
        reported: poured !== undefined,
        from: poured?.from ?? at,
        at,
        castings,
        open,
        grams,
      }
      if (poured) view.line = poured.via
      yield view
    }
  }

  moldsOf(pour: number): MoldsView[] {
    return (this.#floor.flow.pours.get(pour)?.count?.stretches ?? []).flatMap(
      ({ first, last, runs }) =>
        runs.map(({ of, other, pattern }) => ({
          molds: of,
          pattern,
          first,
          last,
          certain: runs.length === 1,
          ...(other === undefined ? {} : { sand: other }),
        })),
    )
  }

  /** Sand batches that molds were made of. */
  sands(): Set<number> {
    const sands = new Set<number>()
    for (const { other } of this.#floor.runs.values()) if (other !== undefined) sands.add(other)
    return sands
  }

  /** Metal of one mold: as poured, else as the patterns say. */
  moldGrams(pour: number): Grams | undefined {
    const { poured, count } = this.#floor.flow.pours.get(pour) ?? {}
    return poured?.moldGrams ?? count?.moldGrams
  }

  /** The heaviest casting of a pour; of unweighed ones, as much as a mold holds; 0 where nobody can say. */
  heaviestOf(pour: number): Grams {
    const grams = this.unitsOf(pour).map((unit) => unit.grams ?? this.moldGrams(pour) ?? 0)
    return Math.max(0, ...grams)
  }

  /** Every casting at its place, once. */
  nodes(): Iterable<CastingsNode> {
    return nodesOf(this.#floor)
  }

  /** Where castings are that were put into a pack or tote, as long as they are in no other. */
  placesOf(no: number): Iterable<CastingsNode> {
    return placesOf(this.#floor, no)
  }

  /** By product, what was made and where it is; both come to the same with what is unrecorded. */
  balance(): Map<string, Balance> {
    return balanceOf(this.#floor)
  }

  /** What is in a thing, see contents.ts. `at` is a moment on the floor, not of the record. */
  slotsOf(no: number, at?: Ms): Content[] {
    return contentsOf(this.#floor, no, at)
  }

  /** What fed a thing directly. */
  sourcesOf(no: number): { of: number; castings: number }[] {
    return feedsOf(this.#floor, no)
  }

  /**
   * Pours that castings of a thing may be of, and loads that held such castings: those that a sweep back
   * gives a chance, without one. Undefined when nobody knows of any casting of it.
   */
  upstreamOf(no: number): { pours: Set<number>; loads: Set<number> } | undefined {
    const held = this.slotsOf(no).filter(({ castings }) => castings > 0)
    if (held.length === 0) return undefined
    const { mixing } = this.#floor.flow
    const [pours, loads] = [new Set<number>(), new Set<number>()]
    for (const slot of mixing.upstreamOf(held.map(({ slot }) => slot))) {
      const pour = mixing.pourOf(slot)
      if (pour !== undefined && this.unitsOf(pour).some((unit) => unit.slot === slot))
        pours.add(pour)
      for (const load of this.#holders.get(slot) ?? []) if (this.#holds(load, slot)) loads.add(load)
    }
    return { pours, loads }
  }

  #holds(load: number, slot: number): boolean {
    return this.#handlingsOf(load).some(({ stocks }) =>
      stocks.some(({ held }) => held.some((one) => one.slot === slot)),
    )
  }

  *handlings(): Iterable<HandlingView> {
    for (const load of this.#floor.flow.loads.keys()) yield* this.handlingsOf(load)
  }

  /** Castings of every load as they came into each of its steps, wherever they are by now. */
  *handled(): Iterable<CastingsNode> {
    for (const { handlings } of this.#floor.flow.loads.values()) {
      for (const { load: thing, step, begin, stocks } of handlings) {
        for (const { piece, slot, amount } of stocks.flatMap(({ held }) => held)) {
          const castings = amount / 1000
          yield { slot, thing, ...piece, castings, place: 'IN_PROCESS', step, at: begin.at }
        }
      }
    }
  }

  handlingsOf(load: number): HandlingView[] {
    const handlings = this.#floor.flow.loads.get(load)?.handlings ?? []
    return handlings.filter(({ report }) => report).map(viewOf)
  }

  /** Castings that went through a machine or line in a stretch of time, see through.ts. */
  through(machine: string, from: Ms, until: Ms): Through | undefined {
    return throughMachine(this.#floor, machine, from, until)
  }

  /** Castings that went on to a later step with no report of this one, at any time where none is given. */
  slotsSkipping(
    step: string,
    from: Ms = Number.NEGATIVE_INFINITY,
    until: Ms = Number.POSITIVE_INFINITY,
  ): number[] {
    return slotsPast(this.#floor, { places: new Set([placeOf(step)]), from, until })
  }

  /** Castings that something touched at one step of a load; at any of its steps if that one is not told. */
  slotsTouched({ fact }: { fact: Fact<number> }): Content[] {
    const steps = this.#handlingsOf(fact.of)
    const said = steps.filter(
      (one) => fact.what === 'touched' && one.step === fact.step && one.pass === (fact.pass ?? 1),
    )
    const then = said.filter(
      (one) => one.from <= fact.at && fact.at <= (one.report?.at ?? one.from),
    )
    const meant = then.length > 0 ? then : said.length > 0 ? said : steps
    return meant.flatMap(({ stocks }) => stocks).flatMap(({ held }) => held.map(contentOf))
  }

  /** Castings whose sources nobody named and that were filled in. */
  filledSlots(): Set<number> {
    return this.#floor.inference.slots()
  }

  /** Castings of which clocks do not decide whether they were taken before others came to them. */
  undecided(): Iterable<Undecided> {
    return undecidedIn(this.#floor.flow)
  }

  /**
   * The chance that of castings taken together at least one is affected: by the part of each leaf that
   * is, and of slots that something touched, undefined for a slot of which that is worked out; `sure` is
   * the part of a leaf that surely is.
   */
  atLeastOne(
    part: (slot: number) => number | undefined,
    sure = part,
  ): (groups: readonly Group[]) => AtLeastOne {
    const { mixing } = this.#floor.flow
    const sizeOf = (leaf: number) => leafSize(this.#floor, leaf)
    const given = (slot: number) => part(slot) ?? (mixing.rankOf(slot) ? undefined : 0)
    const affected = new PartOf(mixing, given)
    const drawing = new Drawing({ mixing, affected, sizeOf, sureOf: (leaf) => sure(leaf) ?? 0 })
    return (groups) => drawing.atLeastOne(groups)
  }

  /** Fewest and most of castings taken together that can be affected, by the parts of leaves that are. */
  hardBounds(
    seeds: { low: ReadonlyMap<number, number>; high: ReadonlyMap<number, number> },
    touched: { sure: ReadonlySet<number>; perhaps: ReadonlySet<number> },
  ): (groups: readonly Group[]) => Bounds {
    const { mixing } = this.#floor.flow
    const sizeOf = (leaf: number) => leafSize(this.#floor, leaf)
    const sizeOfSlot = (slot: number) =>
      mixing.stockOf(slot)?.held.find((held) => held.slot === slot)?.amount ?? 1000 * sizeOf(slot)
    const bounds = (slot: number): Bounds | undefined => {
      const most = sizeOfSlot(slot) / 1000
      if (touched.sure.has(slot)) return { least: most, most }
      if (touched.perhaps.has(slot)) return { least: 0, most }
      if (mixing.stockOf(slot)) return undefined
      return { least: most * (seeds.low.get(slot) ?? 0), most: most * (seeds.high.get(slot) ?? 0) }
    }
    const known = new HardBounds({ mixing, bounds, sizeOf, open: true })
    return (groups) => known.of(groups)
  }

  /** Of which pours castings of a thing are, for metal: also when nothing of it is left. */
  massWeights(thing: number, at?: Ms): MassWeight[] {
    return massWeightsOf(this.#floor, thing, at)
  }

  /** Parts by mass; those nobody weighed count as the mean of the others. */
  metalOf(thing: number): PourShare[] {
    return kept(this.#metal, thing, () => sharesOf(this.massWeights(thing)))
  }

  /** What does not add up or cannot be told. */
  gaps(): readonly Gap[] {
    this.#gaps ??= [...gapsOf(this.#floor)]
    return this.#gaps
  }

  #handlingsOf(load: number): Handling[] {
    return (this.#floor.flow.loads.get(load)?.handlings ?? []).filter(({ report }) => report)
  }

  /** Things made of what is in some stocks, through however many steps. */
  #downstream(stocks: Set<Stock>): Set<number> {
    const things = new Set<number>()
    for (const stock of stocks) {
      things.add(stock.no)
      for (const { into } of stock.outs) if (into) stocks.add(into)
    }
    for (const no of things) for (const pan of this.#floor.pansOf.get(no) ?? []) things.add(pan)
    return things
  }
}

function viewOf({ load, step, pass, from, report, leaving, stocks }: Handling): HandlingView {
  const { at, machine, line } = report!
  const view: HandlingView = { load, step, pass, from, at, castings: leaving / 1000, slots: [] }
  if (machine !== undefined) view.machine = machine
  if (line !== undefined) view.line = line
  view.slots = stocks.flatMap(({ held }) => held.map(({ slot }) => slot))
  return view
}

/** Castings of one pour, product and cavity. */
function leafSize({ flow }: Floor, leaf: number): number {
  const pour = flow.mixing.pourOf(leaf)
  for (const unit of (pour === undefined ? undefined : flow.pours.get(pour))?.units() ?? []) {
    if (unit.slot === leaf) return unit.castings
  }
  return 0
}

function contentOf({ piece, slot, amount }: Held): Content {
  return { slot, ...piece, castings: amount / 1000 }
}
