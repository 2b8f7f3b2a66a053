// Rates on one straight axis from nothing: an open dot for the plain rate with its interval, a square for the
// steadied one, a band for all castings. One strip a row, so that a table holds the drawing.
import { type ScaleLinear, scaleLinear } from 'd3-scale'
import { percentWords } from '../words/number.ts'
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

export type RateScale = ScaleLinear<number, number>

/** One axis for all rows. */
export function rateScale(rows: readonly RateMark[], overall: number, width: number): RateScale {
  const highest = Math.max(overall * 1.2, ...rows.map(({ plain }) => plain.high), 1e-6)
  const values = Math.max(...rows.map(({ plain }) => plain.value), overall)
  const end = Math.min(highest, Math.max(MOST_TIMES * overall, values * 1.1))
  return scaleLinear([0, end], [EDGE, width - EDGE])
}

/** The head of the column of strips. */
export function rateAxis(scale: RateScale): string {
  const [from, to] = scale.range()
  const ticks = scale.ticks(Math.max(2, Math.floor((to! - from!) / 80)))
  const x = (tick: number) => scale(tick)
  return strip(
    { width: to! + EDGE, height: 20 },
    ...ticks.map((tick) =>
      text(x(tick), 14, percentWords(tick), {
        class: 'small',
        'text-anchor': x(tick) < from! + 12 ? 'start' : x(tick) > to! - 20 ? 'end' : 'middle',
      }),
    ),
  )
}

/** One row. */
export function rateStrip(
  { plain, steadied }: RateMark,
  overall: Interval,
  scale: RateScale,
): string {
  const [from, to] = scale.range() as [number, number]
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
