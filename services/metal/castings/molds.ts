// Which molds a pour filled, which pattern they were made on, and so which castings there are.
// Counters of molds tell runs apart; clocks only where a counter was begun anew and not named.
import type { Cavity, FactOf, Grams, Ms } from '../../events/fact.ts'
import { kept } from '../kept.ts'
import { LineClock, type Run, type Stop } from './line-clock.ts'
import { Numbered } from './numbered.ts'
import { comparePieces, type Piece, pieceOf } from './piece.ts'
import { makeAlike, openCavities, Plates } from './plates.ts'
import { shareOut } from './share-out.ts'

type Loss = FactOf<'molds-lost', number>
export type Poured = FactOf<'poured', number>

export interface Molded {
  first: number
  last: number
}

/** Molds next to each other and the runs they may be of; none where no run covers them. */
interface Stretch {
  first: number
  last: number
  runs: Run[]
}

/** Castings of one piece that a pour made. */
interface Cast {
  piece: Piece
  /** Unit: thousandths of a casting. */
  amount: number
  grams: Grams | undefined
  /** Those that stood, or may have stood, in molds of a run. Unit: thousandths of a casting. */
  byRun: Map<number, number>
}

/** When runs may have been begun that molds are of: surely, and at the latest. */
interface Spell {
  sure: Ms
  may: Ms
}

/** Molds of a pour of which it is not known what they make. */
export interface Doubt {
  sort: 'no-molds' | 'no-pattern' | 'molds-undecided'
  first: number
  last: number
}

/** What is known of the castings of one pour. */
export interface Count {
  stretches: Stretch[]
  casts: Cast[]
  /** Some of its molds made nobody knows how many castings of what. */
  open: boolean
  /** Metal of one mold, as the patterns say. */
  moldGrams: Grams | undefined
  doubts: Doubt[]
}

// Two clocks that may each be wrong by a minute do not tell which of two moments came first.
const UNDECIDED = 120_000

/** One molding line: what was mounted on it, made and lost there, and poured. */
export class Line {
  readonly #runs = new Set<Run>()
  #byBegin: Run[] | undefined
  readonly #bySeries = new Map<string, Numbered<Run>>()
  readonly #losses = new Numbered<Loss>()
  readonly #stops = new Set<Stop>()
  #clock: LineClock | undefined
  readonly plates = new Plates()
  readonly pours = new Numbered<Poured>()

  get clock(): LineClock {
    this.#clock ??= new LineClock(this.#runs, this.#stops)
    return this.#clock
  }

  get runs(): Iterable<Run> {
    return this.#runs
  }

  addRun(run: Run): void {
    this.#runs.add(run)
    this.#byBegin = undefined
    this.#clock = undefined
    if (run.series !== undefined) this.#series(run.series).add(run)
  }

  deleteRun(run: Run): void {
    this.#runs.delete(run)
    this.#byBegin = undefined
    this.#clock = undefined
    this.plates.forget(run)
    if (run.series !== undefined) this.#series(run.series).delete(run)
  }

  addLoss(loss: Loss): void {
    this.#losses.add(loss)
  }

  deleteLoss(loss: Loss): void {
    this.#losses.delete(loss)
  }

  addStop(stop: Stop): void {
    this.#stops.add(stop)
    this.#clock = undefined
  }

  deleteStop(stop: Stop): void {
    this.#stops.delete(stop)
    this.#clock = undefined
  }

  /** Molds of a run that came to no pour and were not lost, as far as it is told. */
  unfilled(run: Run, filled: readonly Molded[]): Molded[] {
    const taken = [...filled]
    for (const loss of this.#losses.overlapping(run)) {
      for (const part of this.#stretches(loss, spellOf(loss))) {
        if (part.runs[0] === run) taken.push(within(part, run))
      }
    }
    const left: Molded[] = []
    let next = run.first
    for (const { first, last } of taken.sort((a, b) => a.first - b.first)) {
      if (first > next) left.push({ first: next, last: first - 1 })
      next = Math.max(next, last + 1)
    }
    if (next <= run.last) left.push({ first: next, last: run.last })
    return left
  }

  /** Castings of a pour, from the molds it filled. */
  count(poured: Poured): Count {
    const count: Count = { stretches: [], casts: [], open: false, moldGrams: undefined, doubts: [] }
    const casts = new Map<Piece, Cast>()
    let [grams, weighed] = [0, 0]
    for (const stretch of this.#stretches(poured, spellOf(poured))) {
      const { first, last, runs } = stretch
      if (runs.length > 0) count.stretches.push(stretch)
      const plates = runs.map((run) => this.plates.under(run))
      const plate = plates[0]
      if (runs.length > 1) count.doubts.push({ sort: 'molds-undecided', first, last })
      if (!plate || !plates.every((other) => other && makeAlike(plate, other))) {
        count.open = true
        if (!plates.every(Boolean)) count.doubts.push({ sort: 'no-pattern', first, last })
        if (runs.length === 0) count.doubts.push({ sort: 'no-molds', first, last })
        continue
      }
      if (plate.moldGrams !== undefined) {
        grams += plate.moldGrams * (last - first + 1)
        weighed += last - first + 1
      }
      this.#cast(casts, stretch, openCavities(plate))
    }
    count.casts = [...casts.values()].sort((a, b) => comparePieces(a.piece, b.piece))
    if (weighed > 0) count.moldGrams = grams / weighed
    return count
  }

  /** Pours that a change to these molds concerns. */
  concerned(molds: Molded): Poured[] {
    return this.pours.overlapping(molds)
  }

  /** One casting per mold and open cavity, less what was lost, plus what was kept of that. */
  #cast(casts: Map<Piece, Cast>, stretch: Stretch, cavities: readonly Cavity[]): void {
    const lost = this.#lostOf(stretch)
    const molds = stretch.last - stretch.first + 1 - lost.molds
    const kept = Math.min(lost.kept, 1000 * lost.molds * cavities.length)
    const keptEach = shareOut(
      kept,
      cavities.map(() => 1),
    )
    for (const [i, { cavity, product, castingGrams }] of cavities.entries()) {
      const piece = pieceOf(product, cavity)
      const amount = 1000 * molds + keptEach[i]!
      if (amount === 0) continue
      let cast = casts.get(piece)
      if (!cast) {
        cast = { piece, amount: 0, grams: castingGrams, byRun: new Map() }
        casts.set(piece, cast)
      }
      cast.amount += amount
      cast.grams ??= castingGrams
      for (const { of } of stretch.runs) cast.byRun.set(of, (cast.byRun.get(of) ?? 0) + amount)
    }
  }

  /** Molds of a stretch that were lost, and thousandths of a casting kept of them. */
  #lostOf(stretch: Stretch): { molds: number; kept: number } {
    const lost: Molded[] = []
    let kept = 0
    for (const loss of this.#losses.overlapping(stretch)) {
      for (const part of this.#stretches(loss, spellOf(loss))) {
        const both = within(part, stretch)
        const molds = both.last - both.first + 1
        if (molds <= 0 || part.runs[0] !== stretch.runs[0]) continue
        lost.push(both)
        kept += (1000 * (loss.castingsKept ?? 0) * molds) / (loss.last - loss.first + 1)
      }
    }
    return { molds: lengthOf(lost), kept: Math.round(kept) }
  }

  /** Cuts a range of molds where the runs it may be of change. */
  #stretches(molds: Poured | Loss, spell: Spell): Stretch[] {
    const begun = molds.series === undefined ? this.#begun(molds, spell) : this.#named(molds, spell)
    const cuts = new Set([molds.first, molds.last + 1])
    for (const run of begun) {
      if (run.first > molds.first) cuts.add(run.first)
      if (run.last < molds.last) cuts.add(run.last + 1)
    }
    const ends = [...cuts].sort((a, b) => a - b)
    return ends.slice(1).map((end, i) => {
      const first = ends[i]!
      const covering = begun.filter((run) => run.first <= first && run.last >= end - 1)
      return {
        first,
        last: end - 1,
        runs: molds.series === undefined ? latest(covering, spell) : covering,
      }
    })
  }

  /** Runs of the counter that share a number with the molds. */
  #named(molds: Poured | Loss, { may }: Spell): Run[] {
    const runs = this.#series(molds.series!).overlapping(molds)
    return runs.filter((run) => run.from <= may).sort(byLatest)
  }

  /** Runs of any counter, latest first, back to where every mold surely has one. */
  #begun(molds: Poured | Loss, { sure: by, may }: Spell): Run[] {
    this.#byBegin ??= [...this.#runs].sort(byLatest)
    const [begun, sure]: [Run[], Run[]] = [[], []]
    for (let i = this.#firstBegun(may); i < this.#byBegin.length; i++) {
      const run = this.#byBegin[i]!
      if (run.last < molds.first || run.first > molds.last) continue
      const full = lengthOf(sure.map((one) => within(one, molds))) === molds.last - molds.first + 1
      if (full && run.from !== sure.at(-1)!.from) break
      begun.push(run)
      if (run.from <= by) sure.push(run)
    }
    return begun
  }

  /** Place of the latest run begun by then. */
  #firstBegun(by: Ms): number {
    const runs = this.#byBegin!
    let [low, high] = [0, runs.length]
    while (low < high) {
      const middle = (low + high) >>> 1
      if (runs[middle]!.from > by) low = middle + 1
      else high = middle
    }
    return low
  }

  #series(name: string): Numbered<Run> {
    return kept(this.#bySeries, name, () => new Numbered<Run>())
  }
}

/** Of runs that cover a mold, latest first: those it can be of. */
function latest(runs: readonly Run[], { sure }: Spell): Run[] {
  let fit = 0
  while (fit < runs.length) {
    const run = runs[fit++]!
    const next = runs[fit]
    if (run.from <= sure && next?.from !== run.from) break
  }
  return runs.slice(0, fit)
}

/** The last molds of a pour may have been made while its first were being filled. */
function spellOf(molds: Poured | Loss): Spell {
  const from = molds.what === 'poured' ? molds.from : molds.at
  return { sure: from - UNDECIDED, may: molds.at + UNDECIDED }
}

function byLatest(a: Run, b: Run): number {
  return b.from - a.from || a.first - b.first || a.last - b.last || a.of - b.of
}

function within(a: Molded, b: Molded): Molded {
  return { first: Math.max(a.first, b.first), last: Math.min(a.last, b.last) }
}

/** Numbers in any of the ranges. */
function lengthOf(ranges: Molded[]): number {
  let [molds, upTo] = [0, Number.NEGATIVE_INFINITY]
  for (const { first, last } of ranges.sort((a, b) => a.first - b.first)) {
    molds += Math.max(0, last - Math.max(first - 1, upTo))
    upTo = Math.max(upTo, last)
  }
  return molds
}
