// Castings that share their luck without any cause that has a name: batches, stretches of time, and
// machines that differ a little.
import type { Part } from './candidate.ts'
import { CLOSER_FROM, type Weighed } from './candidates.ts'
import type { Grouping } from './noise.ts'
import type { Atoms, Factor, Of } from './table.ts'

/** Groups whose castings share their luck, by row or by unit. */
export interface Clusters {
  of: Of
  codes: Int32Array
  groups: number
}

export function groupingsOf(atoms: readonly Atoms[], clusters: readonly Clusters[]): Grouping[] {
  return clusters.map(({ of, codes, groups }) =>
    of === 'row' ? ofRows(codes, groups) : ofUnits(atoms[of]!, codes, groups),
  )
}

function ofRows(codes: Int32Array, groups: number): Grouping {
  const start = new Int32Array(codes.length + 1)
  for (let r = 0; r < codes.length; r++) start[r + 1] = start[r]! + (codes[r]! < 0 ? 0 : 1)
  const group = codes.filter((code) => code >= 0)
  return { start, group, part: new Float64Array(group.length).fill(1), groups }
}

function ofUnits({ rows, start, unit, part }: Atoms, codes: Int32Array, groups: number): Grouping {
  const begin = new Int32Array(rows + 1)
  const group = new Int32Array(unit.length)
  const share = new Float64Array(unit.length)
  /** By group, its place in the last row it was in. */
  const place = new Int32Array(groups).fill(-1)
  let count = 0
  for (let r = 0; r < rows; r++) {
    for (let i = start[r]!; i < start[r + 1]!; i++) {
      const code = unit[i]! < 0 ? -1 : codes[unit[i]!]!
      if (code < 0) continue
      if (place[code]! < begin[r]!) {
        place[code] = count
        group[count++] = code
      }
      share[place[code]!]! += part[i]!
    }
    begin[r + 1] = count
  }
  return { start: begin, group: group.slice(0, count), part: share.slice(0, count), groups }
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
      const { of, codes, levels } = factor
      return [{ of, codes, groups: levels.length }]
    })
}
const DIFFERING = 4
/** Variance of the log odds of machines that are no cause: a standard deviation of a tenth. */
export const MACHINES = 0.01
