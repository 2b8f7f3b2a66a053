// Castings by group once more, inside what their rates are to be made fair for.
import type { Looked } from '../../stats/rates/compare.ts'
import type { LookedAt } from '../causes/looked-at.ts'
import { type Counted, countBy } from './count.ts'
import type { Split } from './split.ts'

/** What rates are made fair for. */
export interface Fair {
  /** The product, as rows have it. */
  byProduct: boolean
  /** And these; castings of none of their groups are a group of their own. */
  splits: readonly Split[]
}

/** The castings of each group as `counted` has them, with what they are made fair for as their stratum. */
export function fairFor(
  looked: LookedAt,
  known: readonly Split[],
  { groups }: Counted,
  { byProduct, splits }: Fair,
  drop?: readonly boolean[],
): Looked[] {
  const numbers = new Map(groups.map((names, group) => [JSON.stringify(names), group]))
  const whole = splits.map((split) => ({ ...split, groups: split.groups.map((one) => one ?? '') }))
  const finer = countBy(looked, [...known, ...whole], drop)
  const strata = new Map<string, number>()
  return finer.looked.flatMap((one) => {
    const names = finer.groups[one.group]!
    const group = numbers.get(JSON.stringify(names.slice(0, known.length)))
    if (group === undefined) return []
    const key = JSON.stringify([byProduct ? one.stratum : 0, ...names.slice(known.length)])
    const stratum = strata.get(key) ?? strata.size
    strata.set(key, stratum)
    return [{ ...one, group, stratum }]
  })
}
