// What all castings looked at have alike, and so cannot tell good from bad.
import type { Makeup } from '../../stats/causes/table.ts'
import { listed } from '../estimate.ts'
import type { LookedAt, Row } from './looked-at.ts'
import type { Recorded } from './recorded.ts'
import { nameOf } from './words.ts'

/** Of a row so much must be known to be called all of it: parts too small to count were left out. */
const WHOLE = 0.99

/** Whether a factor is recorded of all castings looked at, and the same for all of them. */
export function isAlike({ inspected }: LookedAt, { factor }: Recorded): boolean {
  const { of } = factor
  const values = factor.form === 'levels' ? factor.codes : factor.values
  const units = of === 'row' ? [...inspected.castings.keys()] : inspected.makeups[of]!.unit
  const first = values[units[0] ?? -1]
  for (const unit of units) if (!(values[unit]! === first)) return false
  const recorded = first !== undefined && !(factor.form === 'levels' && first < 0)
  return recorded && (of === 'row' || isWhole(inspected.makeups[of]!))
}

function isWhole({ start, part }: Makeup): boolean {
  for (let r = 0; r + 1 < start.length; r++) {
    let sum = 0
    for (let i = start[r]!; i < start[r + 1]!; i++) sum += part[i]!
    if (sum < WHOLE) return false
  }
  return true
}

/** A caution on what is alike; a lot that none of them carries is not worth a word. */
export function alikeCaution(alike: readonly Recorded[]) {
  const names = alike.flatMap((one) => nameAlike(one) ?? [])
  if (names.length === 0) return []
  const sentence = `The same for all castings looked at, so that nothing can be compared: ${listed(names, 12)}.`
  return [{ code: 'the-same-for-all', sentence }]
}

function nameAlike(one: Recorded): string | undefined {
  const { factor } = one
  if (factor.form === 'dose')
    return factor.values.some((dose) => dose > 0) ? factor.name : undefined
  if (factor.form === 'measure') return factor.name
  const level = factor.codes.find((code) => code >= 0)!
  return nameOf([one], { parts: [{ factor: 0, is: 'level', level }] })
}

/** Products of which none, or all, of the castings looked at had what is asked about. */
export function untold(rows: readonly Row[]): { none: string[]; all: string[] } {
  const products = Map.groupBy(rows, ({ product }) => product)
  const found = { none: [] as string[], all: [] as string[] }
  for (const [product, some] of products) {
    const castings = some.reduce((sum, row) => sum + row.castings, 0)
    const defective = some.reduce((sum, row) => sum + row.defective, 0)
    const name = product || 'no product by name'
    if (defective === 0) found.none.push(name)
    else if (defective === castings) found.all.push(name)
  }
  return found
}

/** A caution on products that tell nothing: a product is compared with itself. */
export function untoldCaution(rows: readonly Row[]) {
  const { none, all } = untold(rows)
  const words = [
    ...(none.length > 0 ? [`none of the castings of ${listed(none.sort())} was bad`] : []),
    ...(all.length > 0 ? [`all of those of ${listed(all.sort())} were bad`] : []),
  ]
  if (words.length === 0) return []
  const sentence = `Each product is compared with itself only: ${listed(words)}, which tells nothing of causes.`
  return [{ code: 'products-that-tell-nothing', sentence }]
}
