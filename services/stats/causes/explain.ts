// What explains the defects: every recorded factor weighed against every other, against stretches of
// time, and against "nothing recorded".
//
// Singles are weighed first, the promising ones in pairs too, as if castings failed each by itself. Those
// that lead are weighed again with the luck of heats, sand, loads and hours, and the foremost are fitted with
// it. The idea of one effect at a time and of credible sets is that of single-effect regression (from memory:
// Wang, Sarkar, Carbonetto and Stephens, 2020).
import { NOTHING, weighSingles } from './candidates.ts'
import { weighClosely } from './closely.ts'
import { type Clusters, differing, groupingsOf, MACHINES } from './clusters.ts'
import { Exposures } from './exposures.ts'
import { type Believed, fitForemost } from './foremost.ts'
import type { Looked } from './likelihood.ts'
import { Noise } from './noise.ts'
import { weighPairs } from './pairs.ts'
import { Bins } from './ranges.ts'
import { sharedBy } from './shared.ts'
import { atomsOf, type Factor, type Inspected } from './table.ts'
import { byName, type Named, refineFirst } from './variants.ts'

export interface Explained {
  looked: Looked
  /** Most believed first. */
  leaders: Believed[]
  /** Logarithm of the odds of some cause against nothing recorded. */
  logOdds: number
  /** Factors that were weighed. */
  weighed: number
}

/** An effect of which these castings tell nothing, be it a millionth or a million times, is not told. */
const LEAST_INFORMATION = (1.96 / Math.log(1e6)) ** 2

/** Searches for what explains the defects. There must be some, and not all may be defective. */
export function explain(
  inspected: Inspected,
  factors: readonly Factor[],
  clusters: readonly Clusters[],
): Explained {
  const atoms = atomsOf(inspected)
  const looked = lookedAt(inspected)
  const base = baseChances(looked)
  const bins = new Bins(atoms)
  const exposures = new Exposures(atoms, factors)
  const ground = { looked, base, atoms, factors, bins, exposures }
  const singles = weighSingles(ground)
  const names = refineFirst(ground, byName([...singles, ...weighPairs(ground, singles)]))
  const groupings = groupingsOf(atoms, clusters)
  const noise = new Noise(looked, groupings, base)
  const machines = groupingsOf(atoms, differing(factors, singles))
  const sharing = {
    ...ground,
    noise,
    shared: sharedBy(looked, [...groupings, ...machines]),
    variances: (components: Float64Array) =>
      Float64Array.from([...components, ...machines.map(() => MACHINES)]),
  }
  const fitted = fitForemost(sharing, weighClosely(sharing, names)).filter(
    ({ log, information }) => Number.isFinite(log) && information > LEAST_INFORMATION,
  )
  return { looked, ...believe(fitted, restOf(names, fitted)), weighed: factors.length }
}

/** Weight of all that was not weighed with luck, where that counts as it did for the last of those that were. */
function restOf(names: readonly Named[], close: readonly Believed[]): number {
  const sum = (logs: number[]) => logs.reduce((total, log) => total + Math.exp(log), 0)
  const last = close.at(-1)?.log ?? 0
  const rest = names.filter(
    ({ best }) => !close.some(({ candidate }) => candidate === best.candidate),
  )
  return sum(rest.map(({ weight }) => Math.min(weight, last)))
}

function believe(leaders: Believed[], rest: number): Pick<Explained, 'leaders' | 'logOdds'> {
  const sorted = [...leaders].sort((a, b) => b.log - a.log)
  const peak = Math.max(sorted[0]?.log ?? 0, 0)
  const some = sorted.reduce((sum, { log }) => sum + Math.exp(log - peak), rest * Math.exp(-peak))
  const all = some + NOTHING * Math.exp(-peak)
  return {
    leaders: sorted.map((each) => ({ ...each, belief: Math.exp(each.log - peak) / all })),
    logOdds: Math.log(some) + peak - Math.log(NOTHING),
  }
}

function lookedAt({ castings, defective, stratum }: Inspected): Looked {
  return { castings, defective, stratum, strata: stratum.reduce((a, b) => Math.max(a, b), -1) + 1 }
}

/** The rate of each stratum, for each of its rows. */
function baseChances({ castings, defective, stratum, strata }: Looked): Float64Array {
  const n = new Float64Array(strata)
  const y = new Float64Array(strata)
  for (let r = 0; r < stratum.length; r++) {
    n[stratum[r]!]! += castings[r]!
    y[stratum[r]!]! += defective[r]!
  }
  return Float64Array.from(stratum, (s) => y[s]! / (n[s]! || 1))
}
