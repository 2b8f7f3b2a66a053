// What is believed of each explanation, and how often castings were bad with it and without it, on one axis.
import { countWords, shareWords } from '../words/number.ts'
import { logarithmic, type Scale } from './scale.ts'
import { drawing, element, linesOf, text } from './svg.ts'

export interface Rate {
  value: number
  low: number
  high: number
}

export interface BeliefRow {
  name: string
  /** Chance 0 to 1. */
  belief: number
  /** None of what nothing explains. */
  with?: Rate
  without?: Rate
}

const LINE = 19
const HEAD = 48
const TRACK = 22
const GAP = 16
/** Room for "less than 1 in 100". */
const WORDS = 92
/** Rows that a sentence tells; the last row is always told. */
const MOST_TOLD = 2
/** Names of ticks need so much to be told apart. Unit: px. */
const TICK_ROOM = 78

/** One row an explanation; the names stand over their marks, so they may be long. */
export function beliefs(rows: readonly BeliefRow[], width: number): string {
  const leftEnd = Math.round(width * 0.4)
  const [from, to] = [leftEnd + 28, width - 12]
  const scale = logarithmic(decades(rows), [from, to])
  const ticks = apart(ticksOf(scale.ends), scale)
  let y = HEAD
  const body = rows.map((row) => {
    const names = linesOf(row.name, width)
    const top = y + names.length * LINE
    y = top + TRACK + GAP
    const bar = Math.max(1, (leftEnd - WORDS) * row.belief)
    return [
      ...names.map((line, i) => text(0, top - (names.length - 1 - i) * LINE - 4, line)),
      text(0, top + 16, beliefWords(row.belief), { class: 'label' }),
      element('rect', {
        ...{ class: 'thin', x: WORDS, y: top + 3, width: leftEnd - WORDS, height: TRACK - 6 },
      }),
      element('rect', {
        ...{ class: row.with ? 'ink' : 'empty', x: WORDS, y: top + 3 },
        ...{ width: bar, height: TRACK - 6 },
      }),
      ...(row.without ? range(scale, row.without, top + 7, 'open') : []),
      ...(row.with ? range(scale, row.with, top + 15, 'full') : []),
    ].join('')
  })
  const grid = ticks.map((tick) =>
    element('line', { class: 'grid', x1: scale(tick), x2: scale(tick), y1: HEAD - 6, y2: y - GAP }),
  )
  return drawing(
    { width, height: y, sentence: beliefsSentence(rows) },
    text(0, 14, 'believed', { class: 'head' }),
    text(
      from,
      14,
      width < 560 ? 'bad: ○ without, ● with it' : 'bad castings: ○ without it, ● with it',
      {
        class: 'head',
      },
    ),
    ...ticks.map((tick) =>
      text(scale(tick), HEAD - 12, rateTick(tick), {
        class: 'small',
        'text-anchor': scale(tick) > to - 30 ? 'end' : scale(tick) < from + 30 ? 'start' : 'middle',
      }),
    ),
    ...grid,
    ...body,
  )
}

/** The drawing in words, from the same rows. */
export function beliefsSentence(rows: readonly BeliefRow[]): string {
  const [nothing, ...explanations] = rows.toReversed()
  const told = explanations.toReversed().slice(0, MOST_TOLD)
  const more = explanations.length - told.length
  return [...told, ...(nothing ? [nothing] : [])]
    .map((row) => {
      const rates =
        row.with && row.without
          ? `: bad ${shareWords(row.with.value)} with it, ${shareWords(row.without.value)} without`
          : ''
      return `${row.name}, believed ${beliefWords(row.belief)}${rates}`
    })
    .join('; ')
    .concat(more > 0 ? `; ${more} more in the table.` : '.')
}

/** No search is so sure that a smaller chance would mean anything. */
export function beliefWords(belief: number): string {
  if (belief < 0.01) return 'under 1 in 100'
  return `${Math.min(99, Math.round(belief * 100))} in 100`
}

function range(scale: Scale, { value, low, high }: Rate, y: number, dot: 'open' | 'full') {
  const [least] = scale.ends
  const x = (rate: number) => scale(Math.max(least, rate))
  return [
    element('line', { class: 'line', x1: x(low), x2: x(high), y1: y, y2: y }),
    element('circle', { class: dot === 'open' ? 'open-dot' : 'ink', cx: x(value), cy: y, r: 4 }),
  ]
}

/** Whole decades about all ends; nobody counts castings beyond one in 100,000. */
function decades(rows: readonly BeliefRow[]): [number, number] {
  const ends = rows
    .flatMap((row) => [row.with, row.without])
    .flatMap((rate) => (rate ? [rate.low, rate.value, rate.high] : []))
    .map((rate) => Math.min(1, Math.max(1e-5, rate)))
  if (ends.length === 0) return [0.001, 1]
  const low = Math.floor(Math.log10(Math.min(...ends)))
  const high = Math.max(low + 1, Math.ceil(Math.log10(Math.max(...ends))))
  return [10 ** low, 10 ** high]
}

/** As many from the right as can be read beside each other. */
function apart(ticks: readonly number[], scale: Scale): number[] {
  const kept: number[] = []
  for (const tick of ticks.toReversed())
    if (kept.length === 0 || scale(kept[0]!) - scale(tick) >= TICK_ROOM) kept.unshift(tick)
  return kept
}

/** Every decade; of few decades also the half and the fifth of each. */
function ticksOf([low, high]: readonly number[]): number[] {
  const count = Math.round(Math.log10(high! / low!))
  const within = count > 2 ? [1] : [1, 2, 5]
  return Array.from({ length: count + 1 }, (_, i) => within.map((part) => part * low! * 10 ** i))
    .flat()
    .filter((tick) => tick <= high! * 1.001)
}

function rateTick(rate: number): string {
  return rate > 0.99 ? 'all' : `1 in ${countWords(1 / rate)}`
}
