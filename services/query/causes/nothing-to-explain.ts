// When a question about causes has nothing to explain, and why.
import type { View } from '../../metal/followed.ts'
import { grouped, listed } from '../estimate.ts'
import { untold } from './alike.ts'
import { type DefectQuestion, type LookedAt, notLookedAt } from './looked-at.ts'

/** A cause with fewer extra defects than about this cannot be told from chance. */
const LEAST_DEFECTS = 10

/** Why there is nothing to explain; undefined where there is. */
export function nothingIn(view: View, { rows }: LookedAt, about: DefectQuestion) {
  const castings = rows.reduce((sum, row) => sum + row.castings, 0)
  const defective = rows.reduce((sum, row) => sum + row.defective, 0)
  const what = about.defects ? listed(about.defects) : 'a defect'
  const told = (sentence: string) => ({ sentence, castings, defective })
  if (castings === 0) return told(notLookedAt(view, about))
  if (defective === 0)
    return told(
      `None of the ${grouped(castings)} castings looked at had ${what}: there is nothing to explain.`,
    )
  if (defective === castings)
    return told(
      `All ${grouped(castings)} castings looked at had ${what}: nothing can be compared. Ask for a longer window.`,
    )
  const { none, all } = untold(rows)
  if (none.length + all.length === new Set(rows.map(({ product }) => product)).size)
    return told(
      `All castings of ${listed(all)} had ${what} and none of ${listed(none)}: a product is compared with itself only. Ask for a longer window.`,
    )
  if (defective < LEAST_DEFECTS)
    return told(
      `Only ${grouped(defective)} of ${grouped(castings)} castings had ${what}: below ${LEAST_DEFECTS} no cause can be told from chance. Ask for a longer window.`,
    )
  return undefined
}
