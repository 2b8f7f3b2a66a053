import type { FactOf, Ms } from '../../events/fact.ts'
import { tieOfThing } from '../things.ts'
import { tieOf } from './fact-set.ts'
import type { Flow, Taker } from './flow.ts'
import { pieceOf } from './piece.ts'
import { type Rank, rankOf } from './rank.ts'
import { BEHIND, GONE, SHARED } from './serving.ts'
import { shareOut } from './share-out.ts'
import { Draw, thousandths } from './stock.ts'

type Defect = FactOf<'defect-found', number>

/** Defects of one line of an inspection; named of several things, they lie among them by their size. */
export class Finding implements Taker {
  readonly facts: Defect[] = []
  readonly ties: (() => void)[] = []
  readonly #at: Ms
  readonly #n: number

  /** `line` is what was found, in a text of its own. */
  constructor(at: Ms, line: string) {
    this.#at = at
    this.#n = tieOf(line)
  }

  get when(): Rank {
    return rankOf('looked', this.#at, 0)
  }

  take(flow: Flow): void {
    const [fact] = this.facts
    if (!fact) return
    const { fate } = fact
    if (fate !== 'scrap' && fate !== 'rework' && fate !== 'hold') return
    const rank = this.when
    const tie = (no: number) => tieOfThing(flow.things, no)
    const things = [...new Set(this.facts.map(({ of }) => of))].sort((a, b) => tie(a) - tie(b))
    const lines = this.facts.length / things.length
    const parts = shareOut(
      Math.round(thousandths(fact.castings) * lines),
      things.map((no) => flow.sizeOf(no, rank, this)),
    )
    const [turn, place] =
      fate === 'scrap' ? ([GONE, 'SCRAPPED'] as const) : ([BEHIND, 'IN_PROCESS'] as const)
    for (const [n, no] of things.entries()) {
      const amount = parts[n]!
      const rest = { place, thing: no, fate }
      // Those of a pour were found in the loads it went to: these are served first.
      const late = flow.things.kind(no) === 'pour'
      const draw = new Draw({
        wanted: pieceOf(fact.product, fact.cavity),
        amount,
        turn: late ? SHARED : turn,
        rank,
        n: this.#n,
        rest,
      })
      flow.draw(flow.where(no, rank, amount), draw, this)
    }
  }
}
