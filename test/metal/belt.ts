// An indexed line, small and exact: with every stroke a mold is made, and one comes out that was made K
// strokes before. Loads fill up in that order; what each took of which pour is known.
import type { Fact } from '../../services/events/fact.ts'
import { handled, mount, pour, run } from './shop.ts'

export interface Belt {
  facts: Fact[]
  /** By load: castings by pour. */
  truth: Map<string, Record<string, number>>
}

interface Manner {
  molds: number
  /** Molds of one pour, and of one load. */
  perPour: number
  perLoad: number
  strokes: number
  /** Stands still after that mold, for so many minutes. */
  stop?: { after: number; minutes: number }
  /** Loads that do not say where their castings came from. */
  silent: ReadonlySet<string>
  /** Pours of which no report came. */
  unreported?: ReadonlySet<string>
}

const ONE = [{ cavity: 'A', product: 'skillet' }]

/** One casting a mold, a stroke a minute. */
export function belt(manner: Manner): Belt {
  const { molds, perPour, perLoad, strokes, stop, silent, unreported } = manner
  const minute = (mold: number) => mold + (stop && mold > stop.after ? stop.minutes : 0)
  const facts: Fact[] = [mount(0, { cavities: ONE })]
  const truth: Belt['truth'] = new Map()
  for (let first = 1; first <= molds; first += 20) {
    facts.push(run(`m${first}`, [first, first + 19], [minute(first) - 1, minute(first + 19)]))
  }
  if (stop) {
    const from = 60_000 * stop.after
    facts.push({ what: 'line-stopped', of: 'line:1', from, at: from + 60_000 * stop.minutes })
  }
  for (let first = 1; first <= molds; first += perPour) {
    const name = pourOf(first, perPour)
    const last = Math.min(molds, first + perPour - 1)
    if (!unreported?.has(name)) facts.push(pour(name, [first, last], minute(first) + 10))
  }
  for (let first = 1; first + strokes + perLoad <= molds; first += perLoad) {
    const load = `L${(first - 1) / perLoad + 1}`
    const took: Record<string, number> = {}
    for (let mold = first; mold < first + perLoad; mold++) {
      const of = `pour:${pourOf(mold, perPour)}`
      took[of] = (took[of] ?? 0) + 1
    }
    truth.set(`load:${load}`, took)
    const sources = Object.entries(took).map(([of, castings]) => ({ of, castings }))
    const when = [minute(first + strokes) - 1, minute(first + perLoad - 1 + strokes)] as const
    const said = { castings: perLoad, ...(silent.has(load) ? {} : { sources }) }
    facts.push(...handled(load, 'shake-out', [...when], said))
  }
  return { facts, truth }
}

function pourOf(mold: number, perPour: number): string {
  return String(Math.floor((mold - 1) / perPour) + 1)
}
