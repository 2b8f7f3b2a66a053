// Castings looked at, by group: what is mixed counts for each group by its chance.
import type { Makeup } from '../../stats/causes/table.ts'
import type { Looked } from '../../stats/rates/compare.ts'
import type { LookedAt } from '../causes/looked-at.ts'
import type { Split } from './split.ts'

export interface Counted {
  /** Names of each group, one for each split. */
  groups: string[][]
  looked: Looked[]
  /** Castings in no group: their metal is too mixed, or nobody recorded where they belong. */
  leftOut: number
}

/** Less of a row than this is left out. */
const LEAST_PART = 1e-6

/** One or two splits; of two, a row's parts are taken as independent of each other. */
export function countBy({ rows, inspected }: LookedAt, splits: readonly Split[]): Counted {
  const numbers = new Map<string, number>()
  const groups: string[][] = []
  const looked: Looked[] = []
  let leftOut = 0
  for (const [row, { castings, defective }] of rows.entries()) {
    const parts = splits.map((split) => partsOf(inspected.makeups[split.makeup]!, row, split))
    let told = 0
    for (const [names, part] of together(parts)) {
      if (part < LEAST_PART) continue
      told += part
      const key = JSON.stringify(names)
      const group = numbers.get(key) ?? groups.push(names) - 1
      numbers.set(key, group)
      looked.push({
        group,
        stratum: inspected.stratum[row]!,
        cluster: row,
        castings: castings * part,
        defective: defective * part,
      })
    }
    leftOut += castings * Math.max(0, 1 - told)
  }
  return { groups, looked, leftOut }
}

function partsOf({ start, unit, part }: Makeup, row: number, split: Split): Map<string, number> {
  const parts = new Map<string, number>()
  for (let i = start[row]!; i < start[row + 1]!; i++) {
    const group = split.groups[unit[i]!]
    if (group !== undefined) parts.set(group, (parts.get(group) ?? 0) + part[i]!)
  }
  return parts
}

function* together(
  splits: readonly ReadonlyMap<string, number>[],
): Iterable<[names: string[], part: number]> {
  const [first, second] = splits
  for (const [name, part] of first!) {
    if (!second) yield [[name], part]
    else for (const [other, more] of second) yield [[name, other], part * more]
  }
}
