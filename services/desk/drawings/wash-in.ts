// Whose metal was poured, day by day, over how often castings of that day were bad: a recipe washes in through
// what the furnace keeps, and does not begin at a stroke.
import { dayWords } from '../words/moment.ts'
import { shareWords } from '../words/number.ts'
import { drawing, element, linesOf, text } from './svg.ts'

export interface Changeover {
  /** "2026-04-11". */
  days: readonly string[]
  groups: readonly string[]
  /** One list a group; share 0 to 1. */
  share: readonly (readonly number[])[]
  castings: readonly number[]
  defective: readonly number[]
}

const BAND = 34
const GAP = 12
const TOP = 4
const DOTS = 56
const AXIS = 22
/** Below this part of the metal a band would look empty. */
const SMALL = 0.2
/** Names stand over their band where there is less. Unit: px. */
const NARROW = 560

export function washIn(changeover: Changeover, width: number): string {
  const { days, groups, share, castings, defective } = changeover
  const isNarrow = width < NARROW
  const left = isNarrow ? 0 : 190
  const column = (width - left) / Math.max(1, days.length)
  const x = (day: number) => left + day * column
  const gap = isNarrow ? GAP + 16 : GAP
  const height = groups.length * (BAND + gap) + DOTS + AXIS + 2 * gap
  const rates = days.map((_, day) => (castings[day]! > 0 ? defective[day]! / castings[day]! : 0))
  const highest = Math.max(...rates, 1e-9)
  // Of a lot there is never much at once: then its most fills the band.
  const most = Math.max(...share.flat(), 1e-9)
  const full = most < SMALL ? most : 1
  const upTo = full < 1 ? `, up to ${shareWords(full)}` : ''
  const name = (words: string, y: number) =>
    isNarrow
      ? [text(0, y - 4, words, { class: 'label' })]
      : linesOf(words, left - 16)
          .slice(0, 2)
          .map((line, i) => text(0, y + 14 + i * 17, line, { class: 'label' }))
  const bands = groups.flatMap((group, g) => {
    const y = TOP + (isNarrow ? 16 : 0) + g * (BAND + gap)
    return [
      ...name(`${group}${upTo}`, y),
      element('rect', { class: 'empty', x: left + 0.5, y, width: width - left - 1, height: BAND }),
      ...days.map((_, day) => {
        const part = (share[g]?.[day] ?? 0) / full
        return element('rect', {
          ...{ class: 'rest', x: x(day) + 1, y: y + BAND * (1 - part) },
          ...{ width: Math.max(1, column - 2), height: BAND * part },
        })
      }),
    ]
  })
  const base = height - AXIS
  const dots = days.flatMap((_, day) =>
    castings[day]! > 0
      ? [
          element('circle', {
            ...{ class: 'open-dot', cx: x(day) + column / 2, r: 4.5 },
            cy: base - 6 - (DOTS - 14) * (rates[day]! / highest),
          }),
        ]
      : [],
  )
  return drawing(
    { width, height, sentence: washInSentence(changeover) },
    ...bands,
    ...name(
      isNarrow ? `bad castings, up to ${shareWords(highest)}` : 'bad castings',
      base - DOTS + 6,
    ),
    ...(isNarrow ? [] : name(`up to ${shareWords(highest)}`, base - DOTS + 23)),
    element('line', { class: 'thin', x1: left, x2: width, y1: base, y2: base }),
    ...dots,
    text(left, height - 6, dayOf(days[0]), { class: 'small' }),
    text(width, height - 6, dayOf(days.at(-1)), { class: 'small', 'text-anchor': 'end' }),
  )
}

function dayOf(day: string | undefined): string {
  return day === undefined ? '' : dayWords(`${day}T12:00`)
}

/** From the first day to the last, in words. */
export function washInSentence({ days, groups, share }: Changeover): string {
  const last = days.length - 1
  const each = groups.map((group, g) => {
    const part = (day: number) => shareWords(share[g]?.[day] ?? 0)
    return `${group} ${part(0)} at first and ${part(last)} at last`
  })
  return `Part of the metal poured, ${dayOf(days[0])} to ${dayOf(days.at(-1))}: ${each.join('; ')}.`
}
