// One bar that adds up to the frozen scope of a recall: found, back or destroyed, beyond reach, still to find.
import { countWords } from '../words/number.ts'
import { drawing, element, text } from './svg.ts'

export interface RecallFound {
  castings: number
  parts: readonly { became: string; castings: number }[]
  notKnown: number
}

export interface BarPart {
  words: string
  texture: 'solid' | 'hatched' | 'dotted' | 'empty'
  castings: number
}

const BACK = ['RETURNED', 'DESTROYED']
const BEYOND = ['SOLD', 'NOT_FOUND']
const HEIGHT = 34
const LINE = 22
const SWATCH = 16

/** What is neither back nor beyond reach stands somewhere and is kept apart or dealt with. */
export function barParts({ parts, notKnown }: RecallFound): BarPart[] {
  const sum = (isOne: (became: string) => boolean) =>
    parts.reduce((all, { became, castings }) => all + (isOne(became) ? castings : 0), 0)
  return [
    {
      ...{ words: 'found', texture: 'solid' as const },
      castings: sum((became) => !BACK.includes(became) && !BEYOND.includes(became)),
    },
    {
      ...{ words: 'sent back or destroyed', texture: 'hatched' as const },
      castings: sum((became) => BACK.includes(became)),
    },
    {
      ...{ words: 'beyond reach', texture: 'dotted' as const },
      castings: sum((became) => BEYOND.includes(became)),
    },
    { words: 'still to find', texture: 'empty', castings: notKnown },
  ]
}

export function recallSentence(found: RecallFound): string {
  const parts = barParts(found).map(({ words, castings }) => `${countWords(castings)} ${words}`)
  return `Of ${countWords(found.castings)} castings: ${parts.join(', ')}.`
}

export function recallBar(found: RecallFound, width: number): string {
  const parts = barParts(found)
  // More may be found than was covered.
  const whole = Math.max(
    1,
    found.castings,
    parts.reduce((all, { castings }) => all + castings, 0),
  )
  let x = 0
  const bars = parts.flatMap(({ texture, castings }) => {
    const length = (castings / whole) * (width - 2)
    const bar = element('rect', { class: texture, x: x + 1, y: 1, width: length, height: HEIGHT })
    x += length
    return castings > 0 ? [bar] : []
  })
  const key = parts.flatMap(({ words, texture, castings }, i) => {
    const y = HEIGHT + 14 + i * LINE
    return [
      element('rect', { class: texture, x: 1, y, width: SWATCH, height: SWATCH - 4 }),
      text(SWATCH + 10, y + 11, `${countWords(castings)} ${words}`),
    ]
  })
  const height = HEIGHT + 14 + parts.length * LINE
  return drawing({ width, height, sentence: recallSentence(found) }, ...bars, ...key)
}
