// The answer of a reach, and of one place of its ruler, in words.
import { counted, countWords, shareWords } from './number.ts'
import { figures } from './units.ts'

interface Standings {
  certain: number
  possible: number
  unknown: number
  clear: number
  toHold: number
  expected: { value: number }
}

/** What is expected to be affected, without digits nobody can rely on. */
export function aboutWords(count: number): string {
  return count < 100 ? countWords(count) : countWords(Number(count.toPrecision(3)))
}

/** "About 141,600 castings are affected. To have them all, 226,500 must be held: …". */
export function reachWords(
  castings: Standings,
  isWhole: boolean,
  leftOut: number | undefined,
  mostLeftOutGrams: number | null | undefined,
): string {
  const { certain, possible, unknown, toHold, clear, expected } = castings
  if (toHold === 0)
    return isWhole
      ? `None of ${counted(clear, 'casting')} counts, and no report that could say otherwise is missing.`
      : `So far none of ${counted(clear, 'casting')} counts.`
  const about = `about ${aboutWords(expected.value)} castings are affected`
  const parts = [
    `${countWords(certain)} certain`,
    `${countWords(possible)} possible`,
    ...(unknown > 0 ? [`${countWords(unknown)} not known`] : []),
  ]
  const start = isWhole ? about.replace('about', 'About') : `So far ${about}`
  const outside =
    leftOut === undefined
      ? ''
      : ` ${outsideWords(leftOut)} of the metal followed lies outside${
          leftOut > 0 && mostLeftOutGrams
            ? `, at most ${figures(mostLeftOutGrams)} g in one casting`
            : ''
        }.`
  return `${start}. To have them all, ${countWords(toHold)} must be held: ${parts.join(', ')}.${outside}`
}

/** A part of what is followed, for a sentence. */
export function outsideWords(part: number): string {
  if (part <= 0) return 'None'
  return part >= 0.1 ? `${Math.round(part * 100)} %` : `${figures(part * 100)} %`
}

/** What the ruler says where it lies. */
export function rulerWords(place: { share: number; toHold: number; leftOut: number }): string {
  const { share, toHold, leftOut } = place
  return `${shareWords(share)}: ${counted(toHold, 'casting')} to hold, ${outsideWords(leftOut).toLowerCase()} of the metal outside`
}
