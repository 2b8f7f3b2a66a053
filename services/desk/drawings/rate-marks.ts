// Rates on one straight axis from nothing: an open dot for the plain rate with its interval, a square for the
// steadied one, a band for all castings. One strip a row, so that a table holds the drawing.
import { percentWords } from '../words/number.ts'
import { type Scale, straight, ticks } from './scale.ts'
import { element, strip, text } from './svg.ts'

export interface Interval {
  value: number
  low: number
  high: number
}

export interface RateMark {
  plain: Interval
  steadied: number
}

const HEIGHT = 26
const MIDDLE = HEIGHT / 2
const EDGE = 8
/** Beyond so many times the rate of all an interval is drawn up to the edge: else one small row hides all others. */
const MOST_TIMES = 6

/** One axis for all rows. */
export function rateScale(rows: readonly RateMark[], overall: number, width: number): Scale {
  const highest = Math.max(overall * 1.2, ...rows.map(({ plain }) => plain.high), 1e-6)
  const values = Math.max(...rows.map(({ plain }) => plain.value), overall)
  const end = Math.min(highest, Math.max(MOST_TIMES * overall, values * 1.1))
  return straight([0, end], [EDGE, width - EDGE])
}

/** The head of the column of strips. */
export function rateAxis(scale: Scale): string {
  const [from, to] = scale.places
  const named = ticks(scale.ends, Math.max(2, Math.floor((to - from) / 80)))
  return strip(
    { width: to + EDGE, height: 20 },
    ...named.map((tick) =>
      text(scale(tick), 14, percentWords(tick), {
        class: 'small',
        'text-anchor': scale(tick) < from + 12 ? 'start' : scale(tick) > to - 20 ? 'end' : 'middle',
      }),
    ),
  )
}

/** One row. */
export function rateStrip({ plain, steadied }: RateMark, overall: Interval, scale: Scale): string {
  const [from, to] = scale.places
  const x = (rate: number) => Math.min(to, Math.max(from, scale(rate)))
  return strip(
    { width: to + EDGE, height: HEIGHT },
    element('rect', {
      ...{ class: 'band', x: x(overall.low), y: 0, height: HEIGHT },
      width: Math.max(2, x(overall.high) - x(overall.low)),
    }),
    element('line', { class: 'line', x1: x(plain.low), x2: x(plain.high), y1: MIDDLE, y2: MIDDLE }),
    element('rect', { class: 'ink', x: x(steadied) - 4, y: MIDDLE - 4, width: 8, height: 8 }),
    element('circle', { class: 'open-dot', cx: x(plain.value), cy: MIDDLE, r: 4.5 }),
  )
}
