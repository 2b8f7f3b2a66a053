// Where castings may have come from that a report took without naming a source: wherever castings of
// that product are left over, at a distance in time at which others like it found theirs.
import type { Ms } from '../../events/fact.ts'
import { kept } from '../kept.ts'
import { type Dwell, learn, likelihood, openPart } from './dwell.ts'
import type { Floor } from './floor.ts'
import type { Unsourced } from './inference.ts'
import { lastUpTo } from './line-clock.ts'
import { chanceOf, type LineDwell, learnLine, pouredAt, type Spell, tookAt } from './line-dwell.ts'
import { comparePieces, mayBe, pieceOf } from './piece.ts'
import { openCavities } from './plates.ts'
import { compareRanks } from './rank.ts'
import type { Leftover, Survey, Way } from './survey.ts'

/** What one load may have come from. Weights add up to 1. */
export interface Candidates {
  found: { of: Leftover; weight: number }[]
  /** Part of it that stays of unknown origin, whatever the counts say. */
  open: number
}

interface Placed {
  of: Leftover
  molds: Spell
}

const MINUTE = 60_000
// Clocks of two stations may be off by that much against each other.
const SLACK = 5 * MINUTE
// Minutes of waiting are spread over decades: a twentieth of e is fine enough.
const UNIT = 0.05

export class Ways {
  readonly #floor: Floor
  readonly #survey: Survey
  readonly #steps = new Map<Way, { dwell: Dwell | undefined }>()
  #longestWait: number | undefined
  readonly #lines = new Map<string, { dwell: LineDwell | undefined; molds: Placed[] }>()

  constructor(floor: Floor, survey: Survey) {
    this.#floor = floor
    this.#survey = survey
  }

  into(lacking: Unsourced): Candidates {
    const key = this.#survey.keyOf(lacking.no, lacking.step)
    const ways = [...(this.#survey.ways.get(key) ?? [])]
      .sort(byName)
      .filter(([from]) => this.#fits(lacking, from))
    const all = ways.reduce((sum, [, { castings }]) => sum + castings, 0)
    const found: Candidates['found'] = []
    let [open, used] = [0, 0]
    for (const [from, way] of ways) {
      const [dwell, some] =
        typeof from === 'number'
          ? this.#fromLine(lacking, key, from)
          : this.#fromStep(lacking, from, way)
      const sum = some.reduce((total, { weight }) => total + weight, 0)
      if (!dwell) open += way.castings / all
      if (!dwell || sum === 0) continue
      used += way.castings
      open += (openPart(dwell) * way.castings) / all
      for (const { of, weight } of some) found.push({ of, weight: (weight * way.castings) / sum })
    }
    if (used === 0) return { found: [], open: 1 }
    for (const one of found) one.weight /= used
    found.sort(byPlace)
    this.#addUnreported(lacking, found, ways)
    return { found, open: Math.min(1, open) }
  }

  /** A load that names its line is of no other. */
  #fits({ no, line }: Unsourced, from: string | number): boolean {
    const { things } = this.#floor.flow
    if (typeof from === 'string' || line === undefined) return true
    return from === things.numberOf(things.plant(no), `line:${line}`)
  }

  #fromStep(lacking: Unsourced, from: string, way: Way): [Dwell | undefined, Candidates['found']] {
    const dwell = this.#learned(way)
    const left = this.#survey.left.get(from) ?? []
    const found: Candidates['found'] = []
    if (!dwell) return [dwell, found]
    const at = lacking.rank.at
    for (let i = lastUpTo(left, at + SLACK, ({ since }) => since); i >= 0; i--) {
      const of = left[i]!
      const waited = this.#waited(of.since, at)
      if (waited > dwell.most) break
      if (!canTake(lacking, of)) continue
      const weight = likelihood(dwell, waited) * most(of, lacking)
      if (weight > 0) found.push({ of, weight })
    }
    return [dwell, found]
  }

  #fromLine(
    lacking: Unsourced,
    step: string,
    line: number,
  ): [Dwell | undefined, Candidates['found']] {
    const { dwell, molds } = this.#line(step, line)
    const found: Candidates['found'] = []
    const { clock } = this.#floor.lines.get(line)!
    const spell = dwell && tookAt(clock, { from: lacking.rank.at, at: lacking.until }, dwell.unit)
    if (!dwell || !spell) return [undefined, found]
    const { least, most: longest } = dwell.dwell
    for (let i = lastUpTo(molds, spell.until - least, (one) => one.molds.from); i >= 0; i--) {
      const { of, molds: there } = molds[i]!
      if (there.from < spell.from - longest - MOST_MOLDS) break
      if (!canTake(lacking, of)) continue
      const weight = chanceOf(dwell, spell, there) * most(of, lacking)
      if (weight > 0) found.push({ of, weight })
    }
    return [dwell.dwell, found]
  }

  #line(step: string, line: number): { dwell: LineDwell | undefined; molds: Placed[] } {
    return kept(this.#lines, `${step} ${line}`, () => {
      const { clock, pours } = this.#floor.lines.get(line)!
      const examples = this.#survey.examples.get(line)?.get(step) ?? []
      const dwell = learnLine(clock, examples)
      const molds: Placed[] = []
      if (!dwell) return { dwell, molds }
      for (const { of: no } of pours) {
        const pour = this.#floor.flow.pours.get(no)
        const there = pour?.poured && pouredAt(clock, pour.poured, pour.count, dwell.unit)
        if (!there) continue
        for (const of of this.#survey.leftOf.get(pour) ?? []) molds.push({ of, molds: there })
      }
      if (dwell.unit === 'strokes') molds.push(...this.#unfilled(line))
      molds.sort((a, b) => a.molds.from - b.molds.from)
      return { dwell, molds }
    })
  }

  /** Molds that no pour fills and no report gives up: castings of a pour nobody reported, it may be. */
  #unfilled(no: number): Placed[] {
    const line = this.#floor.lines.get(no)!
    const filled = new Map<object, { first: number; last: number }[]>()
    for (const { of } of line.pours) {
      for (const { first, last, runs } of this.#floor.flow.pours.get(of)?.count?.stretches ?? []) {
        for (const run of runs) kept(filled, run, () => []).push({ first, last })
      }
    }
    const found: Placed[] = []
    for (const run of line.runs) {
      const plate = line.plates.under(run)
      const products = Map.groupBy(plate ? openCavities(plate) : [], ({ product }) => product)
      for (const { first, last } of line.unfilled(run, filled.get(run) ?? [])) {
        const stroke = line.clock.strokeOf(run, first)!
        const molds = { from: stroke, until: stroke + last - first + 1 }
        for (const [product, { length }] of products) {
          const amount = 1000 * length * (last - first + 1)
          found.push({ of: lostSight(product, amount, run.from), molds })
        }
      }
    }
    return found
  }

  /**
   * A report may be missing between: then castings came by a way nobody told of. That is looked at where
   * so many are left over elsewhere that miscounts cannot be why.
   */
  #addUnreported(
    lacking: Unsourced,
    found: Candidates['found'],
    ways: [string | number, Way][],
  ): void {
    if (ways.every(([from]) => typeof from === 'number')) return
    const known = new Set(found.map(({ of }) => of))
    const at = lacking.rank.at
    const astray = this.#survey.astray.get(this.#floor.flow.things.plant(lacking.no)) ?? []
    let amount = 0
    for (let i = lastUpTo(astray, at, ({ since }) => since); i >= 0; i--) {
      const of = astray[i]!
      if (this.#waited(of.since, at) > this.#longest) break
      if (!known.has(of) && canTake(lacking, of)) amount += of.amount
    }
    if (amount === 0) return
    // Of n named loads none came such a way: one more does with chance 1 / (n + 2), by the rule of succession.
    const named = ways.reduce((sum, [, { took }]) => sum + took.length, 0)
    const weight = 1 / (named + 2)
    for (const one of found) one.weight *= 1 - weight
    found.push({ of: lostSight(lacking.product, amount, at), weight })
  }

  /** The longest that castings are on their way: all steps one after the other, each at its limit. */
  get #longest(): number {
    if (this.#longestWait !== undefined) return this.#longestWait
    let minutes = 0
    for (const ways of this.#survey.ways.values()) {
      const limits = [...ways.values()].map((way) => Math.expm1(this.#learned(way)?.most ?? 0))
      minutes += Math.max(...limits)
    }
    this.#longestWait = Math.log1p(minutes)
    return this.#longestWait
  }

  #learned(way: Way): Dwell | undefined {
    return kept(this.#steps, way, () => {
      const waited = way.took.map(([since, at]) => this.#waited(since, at))
      return { dwell: learn(waited, UNIT) }
    }).dwell
  }

  /** Running minutes of a wait, on a logarithmic scale. */
  #waited(since: Ms, at: Ms): number {
    const running = this.#survey.runningAt(at) - this.#survey.runningAt(since)
    return Math.log(1 + Math.max(0, running) / MINUTE)
  }
}

// A pour or a gap between pours is not longer than that. Unit: strokes or minutes.
const MOST_MOLDS = 2000

function canTake({ rank, product }: Unsourced, { wanted, after, until }: Leftover): boolean {
  if (!mayBe(wanted, pieceOf(product))) return false
  return compareRanks(after, rank) < 0 && (!until || compareRanks(rank, until) < 0)
}

/** What one load can have of some castings at most. */
function most({ amount }: Leftover, lacking: Unsourced): number {
  return Math.min(amount, 1000 * lacking.amount)
}

// Sums must come out the same whatever arrived first.
function byName([a]: [string | number, Way], [b]: [string | number, Way]): number {
  return String(a) < String(b) ? -1 : 1
}

function byPlace({ of: a }: { of: Leftover }, { of: b }: { of: Leftover }): number {
  return (
    a.since - b.since ||
    (a.where?.no ?? 0) - (b.where?.no ?? 0) ||
    comparePieces(a.wanted, b.wanted) ||
    a.amount - b.amount
  )
}

function lostSight(product: string, amount: number, since: Ms): Leftover {
  const after = { at: Number.NEGATIVE_INFINITY, tie: 0 }
  return {
    where: undefined,
    wanted: pieceOf(product),
    amount,
    large: true,
    since,
    after,
    until: undefined,
  }
}
