// Castings that share their luck without any cause that has a name: batches, stretches of time, and
// machines that differ a little.
import type { Part } from './candidate.ts'
import { CLOSER_FROM, type Weighed } from './candidates.ts'
import type { Grouping } from './noise.ts'
import { type Atoms, atomsBy, type Factor, type Of } from './table.ts'

/** Groups whose castings share their luck, by row or by unit. */
export interface Clusters {
  name: string
  of: Of
  codes: Int32Array
  groups: number
}

export function groupingsOf(atoms: readonly Atoms[], clusters: readonly Clusters[]): Grouping[] {
  return clusters.map(({ name, of, codes, groups }) => {
    const own = atomsBy(atoms, of)
    const byAtom = new Int32Array(own.part.length)
    for (let r = 0; r < own.rows; r++)
      for (let i = own.start[r]!; i < own.start[r + 1]!; i++) {
        const unit = own.unit[i]!
        byAtom[i] = of === 'row' ? codes[r]! : unit < 0 ? -1 : codes[unit]!
      }
    return { name, atoms: own, codes: byAtom, groups }
  })
}

/**
 * Machines of which one stands out most: even where none is the cause they differ a little, and what goes
 * with one in company must not live on that.
 */
export function differing(factors: readonly Factor[], singles: readonly Weighed[]): Clusters[] {
  const most = new Map<number, number>()
  for (const { candidate, score } of singles) {
    const [{ factor }] = candidate.parts as [Part]
    if (candidate.kind === 'machine' && Math.abs(score) > CLOSER_FROM)
      most.set(factor, Math.max(most.get(factor) ?? 0, Math.abs(score)))
  }
  return [...most]
    .sort((a, b) => b[1] - a[1])
    .slice(0, DIFFERING)
    .flatMap(([f]): Clusters[] => {
      const factor = factors[f]!
      if (factor.form !== 'levels') return []
      const { name, of, codes, levels } = factor
      return [{ name, of, codes, groups: levels.length }]
    })
}
const DIFFERING = 4
/** Variance of the log odds of machines that are no cause: a standard deviation of a tenth. */
export const MACHINES = 0.01
