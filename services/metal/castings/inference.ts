// Fills in sources that nobody named: what loads lack and what is left over elsewhere is brought to
// agree, by how long castings take and by the counts of both sides. It follows from what was said
// alone, so that it does not matter in which order it was.
import type { Ms, Step } from '../../events/fact.ts'
import { kept } from '../kept.ts'
import { tieOfThing } from '../things.ts'
import { type Candidates, Ways } from './candidates.ts'
import type { Floor } from './floor.ts'
import type { Flow, Taker } from './flow.ts'
import { type Link, rake } from './raking.ts'
import { compareRanks, type Rank } from './rank.ts'
import { INFERRED } from './serving.ts'
import { Draw } from './stock.ts'
import { type Leftover, Survey } from './survey.ts'
import { wholeTable } from './whole-table.ts'

/** Castings a report took without saying from where. */
export interface Unsourced {
  /** The load or pack. */
  no: number
  step: Step | 'pack'
  line?: string
  rank: Rank
  until: Ms
  product: string
  /** Unit: thousandths of a casting. */
  amount: number
  /** Puts in what was filled in. */
  pour(draws: Draw[]): void
}

interface Filled {
  of: Leftover
  /** Unit: thousandths of a casting. */
  amount: number
}

class Guess implements Taker {
  readonly when: Rank
  readonly ties: (() => void)[] = []
  readonly filled: readonly Filled[]
  readonly draws: readonly Draw[]

  constructor(flow: Flow, lacking: Unsourced, filled: readonly Filled[]) {
    this.when = lacking.rank
    this.filled = filled
    this.draws = filled.map(({ of, amount }, n) => {
      const { wanted } = of
      const draw = new Draw({ wanted, amount, turn: INFERRED, rank: lacking.rank, n })
      flow.draw(of.where, draw, this)
      return draw
    })
    lacking.pour([...this.draws])
  }

  undo(): void {
    for (const untie of this.ties.splice(0)) untie()
  }

  isSame(filled: readonly Filled[]): boolean {
    return (
      filled.length === this.filled.length &&
      filled.every(({ of, amount }, i) => {
        const own = this.filled[i]!
        return own.of.where === of.where && own.of.wanted === of.wanted && own.amount === amount
      })
    )
  }
}

export class Inference {
  readonly #guesses = new Map<Unsourced, Guess>()

  /** Fills in anew what may be otherwise now, and leaves the rest as it is. */
  tie(floor: Floor): void {
    const { flow } = floor
    for (const [lacking, guess] of this.#guesses) {
      if (flow.unsourced.has(lacking)) continue
      guess.undo()
      this.#guesses.delete(lacking)
    }
    if (flow.unsourced.size === 0) return
    for (const [lacking, filled] of fillIn(floor)) {
      const guess = this.#guesses.get(lacking)
      if (guess?.isSame(filled) ?? filled.length === 0) continue
      guess?.undo()
      this.#guesses.set(lacking, new Guess(flow, lacking, filled))
    }
  }

  /** Compositions that something filled in is part of. */
  slots(): Set<number> {
    const slots = new Set<number>()
    for (const { draws } of this.#guesses.values()) {
      for (const { into } of draws) for (const { slot } of into?.held ?? []) slots.add(slot)
    }
    return slots
  }

  /** Loads and packs with sources filled in, and how many of their castings. */
  *filled(): Iterable<{ no: number; step: Step | 'pack'; castings: number; from: number }> {
    for (const [{ no, step }, { draws }] of this.#guesses) {
      const amount = draws.reduce((sum, { amount, short }) => sum + amount - short, 0)
      if (amount > 0) yield { no, step, castings: amount / 1000, from: draws.length }
    }
  }
}

/** What each is taken to have come from. */
function fillIn(floor: Floor): Map<Unsourced, Filled[]> {
  const ways = new Ways(floor, new Survey(floor))
  const found = new Map<Unsourced, Candidates>()
  const tie = (no: number) => tieOfThing(floor.flow.things, no)
  const lacking = [...floor.flow.unsourced]
  lacking.sort(
    (a, b) =>
      compareRanks(a.rank, b.rank) || tie(a.no) - tie(b.no) || (a.product < b.product ? -1 : 1),
  )
  for (const one of lacking) found.set(one, ways.into(one))
  const filled = new Map<Unsourced, Filled[]>(lacking.map((one) => [one, []]))
  for (const group of connected(found)) fillGroup(group, found, filled)
  return filled
}

/** Loads that share something they may have come from, each group by itself. */
function connected(found: ReadonlyMap<Unsourced, Candidates>): Unsourced[][] {
  const groups = new Map<Leftover, Unsourced[]>()
  for (const [one, { found: some }] of found) {
    const joined = new Set(
      some.map(({ of }) => groups.get(of)).filter((list) => list !== undefined),
    )
    const [into = [], ...others] = joined
    into.push(one)
    for (const list of others) into.push(...list)
    const moved = new Set(others)
    if (moved.size > 0) for (const [of, list] of groups) if (moved.has(list)) groups.set(of, into)
    for (const { of } of some) groups.set(of, into)
  }
  return [...new Set(groups.values())]
}

function fillGroup(
  group: readonly Unsourced[],
  found: ReadonlyMap<Unsourced, Candidates>,
  filled: Map<Unsourced, Filled[]>,
): void {
  const columns = new Map<Leftover, number>()
  const links: (Link & { of: Leftover })[] = []
  for (const [row, one] of group.entries()) {
    for (const { of, weight } of found.get(one)!.found) {
      links.push({ row, column: kept(columns, of, () => columns.size), weight, of })
    }
  }
  const rows = group.map((one) => Math.round(one.amount * (1 - found.get(one)!.open)))
  const totals = [...columns.keys()].map(({ amount }) => amount)
  const { amounts } = rake(links, rows, totals, { tolerance: 0.5, rounds: 500 })
  // However unlikely: as long as it is not ruled out, a trace of it stays.
  for (const [i, amount] of wholeTable(links, amounts, rows, totals).entries()) {
    const { row, of } = links[i]!
    if (of.where) filled.get(group[row]!)!.push({ of, amount })
  }
}
