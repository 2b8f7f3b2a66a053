// Which pattern a run of molds was made on, and what castings that gives.
import type { Cavity, FactOf } from '../../events/fact.ts'
import { listed } from '../kept.ts'
import type { Run } from './line-clock.ts'
import { comparePieces, pieceOf } from './piece.ts'

export type Mounting = FactOf<'pattern-mounted', number>

/** Patterns mounted on one line. */
export class Plates {
  readonly #mounted = new Map<string, Mounting[]>()
  readonly #under = new Map<Run, Mounting | undefined>()

  add(mounting: Mounting): void {
    listed(this.#mounted, mounting.pattern).push(mounting)
    this.#under.clear()
  }

  delete(mounting: Mounting): void {
    const list = listed(this.#mounted, mounting.pattern)
    list.splice(list.indexOf(mounting), 1)
    this.#under.clear()
  }

  /** A run is not said any more. */
  forget(run: Run): void {
    this.#under.delete(run)
  }

  /** The mounting of its pattern with the greatest first mold up to the run's; two alike: the later. */
  under(run: Run): Mounting | undefined {
    if (this.#under.has(run)) return this.#under.get(run)
    const mounted = this.#mounted.get(run.pattern) ?? []
    const counted = mounted.filter(
      (m) => m.series === run.series && (m.fromMold ?? run.first) <= run.first,
    )
    // One that names no counter says nothing about the numbers of another.
    const plates =
      counted.length > 0 ? counted : mounted.filter((m) => m.series === undefined && m.at <= run.at)
    const plate = plates.reduce<Mounting | undefined>(
      (best, m) => (best && !supplants(m, best, run, counted.length > 0) ? best : m),
      undefined,
    )
    this.#under.set(run, plate)
    return plate
  }
}

/** A mounting after the run ended is later only than others after it. */
function supplants(a: Mounting, b: Mounting, run: Run, byNumber: boolean): boolean {
  const least = Number.NEGATIVE_INFINITY
  if (byNumber && (a.fromMold ?? least) !== (b.fromMold ?? least)) {
    return (a.fromMold ?? least) > (b.fromMold ?? least)
  }
  const [before, other] = [a.at <= run.at, b.at <= run.at]
  return before === other ? a.at >= b.at : before
}

/** Those that castings come from, in order. */
export function openCavities(plate: Mounting): Cavity[] {
  return plate.cavities
    .filter(({ blocked }) => blocked !== true)
    .sort((a, b) => comparePieces(pieceOf(a.product, a.cavity), pieceOf(b.product, b.cavity)))
}

/** Whether both give the same castings. */
export function makeAlike(a: Mounting, b: Mounting): boolean {
  if (a === b) return true
  const [x, y] = [openCavities(a), openCavities(b)]
  return (
    x.length === y.length &&
    x.every((cavity, i) => cavity.cavity === y[i]!.cavity && cavity.product === y[i]!.product)
  )
}
