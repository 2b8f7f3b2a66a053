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
  /** Those of them whose metal is too mixed. */
  tooMixed: number
  /** Castings not counted at all, on request. */
  without: number
}

/** Less of a row than this is left out. */
export const LEAST_PART = 1e-6

/**
 * One or two splits. Splits of one makeup hold unit by unit; of two makeups a row's parts are taken as
 * independent of each other. Units of the first makeup that `drop` marks do not count.
 */
export function countBy(
  { rows, inspected }: LookedAt,
  splits: readonly Split[],
  drop?: readonly boolean[],
): Counted {
  const joints = jointsOf(splits)
  const numbers = new Map<string, number>()
  const counted: Counted = { groups: [], looked: [], leftOut: 0, tooMixed: 0, without: 0 }
  const mixed = splits.find((split) => split.mixed)?.mixed?.map((is, unit) => is && !drop?.[unit])
  for (const [row, all] of rows.entries()) {
    const poured = inspected.makeups[0]!
    const stays = 1 - (drop ? partWhere(poured, row, drop) : 0)
    const [castings, defective] = [all.castings * stays, all.defective * stays]
    counted.without += all.castings - castings
    if (stays < LEAST_PART) continue
    const parts = joints.map((joint) =>
      partsOf(
        inspected.makeups[joint.makeup]!,
        row,
        joint,
        joint.makeup === 0 ? drop : undefined,
        stays,
      ),
    )
    let told = 0
    for (const [key, part] of together(parts)) {
      if (part < LEAST_PART) continue
      told += part
      const group = numbers.get(key) ?? counted.groups.push(namesIn(key, joints)) - 1
      numbers.set(key, group)
      counted.looked.push({
        group,
        stratum: inspected.stratum[row]!,
        cluster: row,
        castings: castings * part,
        defective: defective * part,
      })
    }
    counted.leftOut += castings * Math.max(0, 1 - told)
    if (mixed) counted.tooMixed += all.castings * partWhere(poured, row, mixed)
  }
  return counted
}

/** Splits of one makeup taken together: names of each unit, and their places among the splits. */
interface Joint {
  makeup: number
  places: number[]
  keys: (string | undefined)[]
}

function jointsOf(splits: readonly Split[]): Joint[] {
  const byMakeup = Map.groupBy(splits.entries(), ([, { makeup }]) => makeup)
  return [...byMakeup].map(([makeup, some]) => ({
    makeup,
    places: some.map(([place]) => place),
    keys: some[0]![1].groups.map((_, unit) => {
      const names = some.map(([, { groups }]) => groups[unit])
      return names.includes(undefined) ? undefined : JSON.stringify(names)
    }),
  }))
}

function partsOf(
  { start, unit, part }: Makeup,
  row: number,
  { keys }: Joint,
  drop: readonly boolean[] | undefined,
  stays: number,
): Map<string, number> {
  const parts = new Map<string, number>()
  for (let i = start[row]!; i < start[row + 1]!; i++) {
    const key = keys[unit[i]!]
    if (key === undefined || drop?.[unit[i]!]) continue
    parts.set(key, (parts.get(key) ?? 0) + part[i]!)
  }
  if (drop) for (const [key, one] of parts) parts.set(key, one / stays)
  return parts
}

function partWhere({ start, unit, part }: Makeup, row: number, holds: readonly boolean[]): number {
  let sum = 0
  for (let i = start[row]!; i < start[row + 1]!; i++) if (holds[unit[i]!]) sum += part[i]!
  return sum
}

/** Keys of two makeups are written one behind the other. */
function* together(
  parts: readonly ReadonlyMap<string, number>[],
): Iterable<[key: string, part: number]> {
  const [first, second] = parts
  for (const [key, part] of first!) {
    if (!second) yield [`[${key}]`, part]
    else for (const [other, more] of second) yield [`[${key},${other}]`, part * more]
  }
}

/** Names in the order of the splits. */
function namesIn(key: string, joints: readonly Joint[]): string[] {
  const names: string[] = []
  for (const [j, some] of (JSON.parse(key) as string[][]).entries())
    for (const [k, name] of some.entries()) names[joints[j]!.places[k]!] = name
  return names
}
