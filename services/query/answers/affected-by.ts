// From which point on a casting counts as affected: by a share of its metal, by a dose of an addition, or at all.
import type { Followed, View } from '../../metal/followed.ts'
import type { Threshold } from '../../metal/reach.ts'
import { materialsOf, type UsualShare, usualShare } from '../../metal/usual-share.ts'
import { refusal } from '../refusal.ts'

/** The GraphQL input AffectedBy: exactly one of the three. */
export interface AffectedBy {
  share?: number
  dose?: number
  touched?: boolean
}

/** Fewer pours do not tell what is usual. Common practice, no source. */
const FEWEST_POURS = 8
/** Whoever asks for more than that means something else. */
const MOST_DOSES = 100

export function thresholdOf(
  view: View,
  { share, dose }: AffectedBy,
  { followed, from }: { followed: Followed; from: readonly number[] },
): Threshold {
  if (share !== undefined) return shareOf(share, followed)
  return dose === undefined ? { touched: true } : doseOf(view, dose, from)
}

export function shareOf(share: number, followed: Followed): { share: number } {
  assertShare(share)
  // All but metallics are a small part of any metal: a share that fits those would clear them all.
  const addition = [...followed.roles].find((role) => role !== 'metallic')
  if (addition !== undefined) {
    throw refusal(
      'BAD_USER_INPUT',
      `A share of the metal does not fit a lot used as ${addition === 'other' ? 'nobody says what' : addition}: it is never a large part of any, so a share would call all of it clear. Ask for any of it at all, affected: {touched: true}, or by usual doses, affected: {dose: 0.5}.`,
    )
  }
  if (followed.seeds.length === 0 && followed.flood.length === 0) {
    throw refusal(
      'BAD_USER_INPUT',
      'affected.share needs something that went into metal; what only touches castings is asked with affected: {touched: true}.',
    )
  }
  return { share }
}

/** Throws a refusal for what is no part of anything. */
export function assertShare(share: number): void {
  if (share > 0 && share <= 1) return
  throw refusal(
    'BAD_USER_INPUT',
    'affected.share is a part of the metal: give a number above 0 and at most 1, such as 0.001.',
  )
}

function doseOf(view: View, dose: number, from: readonly number[]): Threshold {
  if (!(dose > 0 && dose <= MOST_DOSES)) {
    throw refusal(
      'BAD_USER_INPUT',
      `affected.dose is a part of what metal usually has of the addition: give a number above 0 and at most ${MOST_DOSES}, such as 0.5 for half of it.`,
    )
  }
  const { share, pours } = usualDoseOf(view, from)
  if (pours < FEWEST_POURS) {
    throw refusal(
      'BAD_USER_INPUT',
      `affected.dose needs to know what is usual, and only ${pours} pours were given such an addition: ask with affected: {touched: true}.`,
    )
  }
  return { share: Math.min(1, dose * share) }
}

/** Throws a refusal where it is not received lots of one addition that are followed. */
export function usualDoseOf(view: View, from: readonly number[]): UsualShare {
  const { book, things, asOf } = view
  const isAddition = (no: number) => {
    const received = things.kind(no) === 'lot' ? book.of(no, 'lot-received', asOf)[0] : undefined
    return received !== undefined && received.fact.role !== 'metallic'
  }
  const materials = materialsOf(view, from)
  if (from.length === 0 || !from.every(isAddition) || materials.size !== 1) {
    throw refusal(
      'BAD_USER_INPUT',
      'affected.dose is for received lots of one addition, such as an inoculant: ask of metallics by share, and of anything else with affected: {touched: true}.',
    )
  }
  return usualShare(view, [...materials][0]!)
}
