// The clock of a molding line: strokes made, and minutes that it ran.
import type { FactOf, Ms } from '../../events/fact.ts'

/** A stretch of molds, made in one go. */
export type Run = FactOf<'molds-made', number>
export type Stop = FactOf<'line-stopped', number>

/** Numbers in order, and what they stand for; between two of them it grows evenly. */
interface Mark {
  run: Run
  /** Of its first mold. */
  stroke: number
}

export class LineClock {
  readonly #marks: Mark[] = []
  readonly #strokes = new Map<Run, number>()
  readonly #stops: { from: Ms; at: Ms; before: Ms }[] = []

  constructor(runs: Iterable<Run>, stops: Iterable<Stop>) {
    this.#layStops(stops)
    this.#layRuns(runs)
  }

  /** Strokes made up to a moment; undefined where no run was reported by then. */
  strokesAt(at: Ms): number | undefined {
    const i = lastUpTo(this.#marks, at, ({ run }) => run.from)
    if (i < 0) return undefined
    const { run, stroke } = this.#marks[i]!
    const whole = this.runningAt(run.at) - this.runningAt(run.from)
    const part = whole > 0 ? (this.runningAt(at) - this.runningAt(run.from)) / whole : 1
    return stroke + Math.min(1, part) * (run.last - run.first + 1)
  }

  /** The stroke at which a mold was made; undefined for a run of another line. */
  strokeOf(run: Run, mold: number): number | undefined {
    const first = this.#strokes.get(run)
    return first === undefined ? undefined : first + mold - run.first
  }

  /** A moment, less all stops before it: differences are running time. */
  runningAt(at: Ms): Ms {
    const i = lastUpTo(this.#stops, at, ({ from }) => from)
    if (i < 0) return at
    const { from, at: end, before } = this.#stops[i]!
    return at - before - (Math.min(at, end) - from)
  }

  #layStops(stops: Iterable<Stop>): void {
    let before = 0
    for (const { from, at } of [...stops].sort((a, b) => a.from - b.from || a.at - b.at)) {
      const last = this.#stops.at(-1)
      if (last && from <= last.at) {
        before += Math.max(0, at - last.at)
        last.at = Math.max(last.at, at)
        continue
      }
      this.#stops.push({ from, at, before })
      before += at - from
    }
  }

  /** Molds of a counter that nobody reported were strokes, too. */
  #layRuns(runs: Iterable<Run>): void {
    let next = 0
    let before: Run | undefined
    for (const run of [...runs].sort(byBegin)) {
      const skipped = before && before.series === run.series ? run.first - before.last - 1 : 0
      if (skipped > 0 && skipped <= MOST_SKIPPED) next += skipped
      this.#marks.push({ run, stroke: next })
      this.#strokes.set(run, next)
      next += run.last - run.first + 1
      before = run
    }
  }
}

// A counter that jumps further was set by hand: some days of the fastest line, common practice, no source.
const MOST_SKIPPED = 20_000

/** Place of the last of a sorted list that begins by then; -1 for none. */
export function lastUpTo<T>(list: readonly T[], at: number, begin: (one: T) => number): number {
  let [low, high] = [0, list.length]
  while (low < high) {
    const middle = (low + high) >>> 1
    if (begin(list[middle]!) <= at) low = middle + 1
    else high = middle
  }
  return low - 1
}

function byBegin(a: Run, b: Run): number {
  return a.from - b.from || a.first - b.first || a.last - b.last || a.of - b.of
}
