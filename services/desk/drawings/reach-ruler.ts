// Two drawings on one upright axis of shares, and one ruler across both: left what the pours hold over time,
// right what a ruler there would take in.
import { clockWords, shortDayWords } from '../words/moment.ts'
import { countWords, shareWords } from '../words/number.ts'
import { logarithmic, momentTicks, straight, ticks } from './scale.ts'
import { element, TEXTURES, text } from './svg.ts'

export interface Curve {
  share: readonly number[]
  toHold: readonly number[]
  expected: readonly number[]
  leftOut: readonly number[]
}

export interface Strip {
  at: readonly string[]
  until: string
  share: readonly number[]
  low: readonly number[]
  high: readonly number[]
  gap: readonly number[]
  castings: readonly number[]
  unknown: readonly number[]
}

const HEIGHT = 360
const TOP = 34
const BOTTOM = 30
const LABELS = 104
const BETWEEN = 26
/** Room for the counts right of the right drawing. */
const COUNTS = 96
/** Named below the left drawing, at most. */
const MOMENTS = 6

/** The decades shown: all that holds anything, at least two. */
export function decadesOf({ share }: Curve): number[] {
  const positive = share.filter((value) => value > 0)
  const top = Math.min(0, Math.ceil(Math.log10(Math.max(...positive, 1e-6))))
  const least = Math.floor(Math.log10(Math.min(...positive, 1)))
  const bottom = Math.min(top - 2, Math.max(least, top - 5))
  return Array.from({ length: top - bottom + 1 }, (_, i) => 10 ** (top - i))
}

/** Where a share lies, upright. */
function upright(curve: Curve) {
  const decades = decadesOf(curve)
  return logarithmic([decades.at(-1)!, decades[0]!], [HEIGHT - BOTTOM, TOP])
}

/** The share at a height of the drawing. */
export function shareAt(curve: Curve, y: number): number {
  return upright(curve).valueAt(y)
}

/** The exact point of the curve nearest a share. */
export function nearest({ share }: Curve, to: number): number {
  let best = 0
  for (let i = 1; i < share.length; i++)
    if (Math.abs(Math.log(share[i]! / to)) < Math.abs(Math.log(share[best]! / to))) best = i
  return best
}

/** What a ruler at a share takes in: the last point of the curve not below it. */
export function takenAt(curve: Curve, share: number): RulerPlace {
  let i = -1
  while (i + 1 < curve.share.length && curve.share[i + 1]! >= share * (1 - 1e-9)) i++
  const of = (list: readonly number[], none: number) => (i < 0 ? none : list[i]!)
  return {
    share,
    toHold: of(curve.toHold, 0),
    expected: of(curve.expected, 0),
    leftOut: of(curve.leftOut, 1),
  }
}

/** Where the ruler lies, and what it takes in there. */
export interface RulerPlace {
  share: number
  toHold: number
  expected: number
  leftOut: number
}

/** What lies under the ruler for all its places, and what is drawn anew with each: below and above the rest. */
export interface RulerLayers {
  size: { width: number; height: number }
  still: string
  moved(share: number): { below: string; above: string }
}

export function reachRuler(
  { strip, curve }: { strip: Strip; curve: Curve },
  width: number,
): RulerLayers {
  const y = upright(curve)
  const decades = decadesOf(curve)
  const room = width - LABELS - BETWEEN - COUNTS
  const left = { from: LABELS, to: LABELS + room * 0.58 }
  const right = { from: left.to + BETWEEN, to: left.to + BETWEEN + room * 0.42 }
  const x = straight([0, Math.max(1, ...curve.toHold)], [right.from, right.to])
  const still = [
    TEXTURES,
    ...decades.flatMap((share) => [
      text(LABELS - 10, y(share) + 5, shareWords(share), { class: 'label', 'text-anchor': 'end' }),
      ...[left, right].map(({ from, to }) =>
        element('line', { class: 'faint', x1: from, y1: y(share), x2: to, y2: y(share) }),
      ),
    ]),
    outlineOf(strip, y, left),
    ...days(strip, left.from, left.to),
    ...curveView(curve, y, x),
    text(left.from, 16, 'in each pour', { class: 'label' }),
    text(right.from, 16, 'to hold, and really affected', { class: 'label' }),
    text(width, 16, 'metal outside', { class: 'label', 'text-anchor': 'end' }),
    ...decades.map((share) =>
      text(width, y(share) + 5, outside(takenAt(curve, share).leftOut), {
        class: 'small',
        'text-anchor': 'end',
      }),
    ),
    ...ticks(x.ends, 3).map((count) =>
      text(x(count), HEIGHT - 10, countWords(count), { class: 'small', 'text-anchor': 'middle' }),
    ),
  ]
  const moved = (share: number) => {
    const at = y(share)
    return {
      below: fillings(strip, share, y, left).join(''),
      above:
        element('line', { class: 'ruler', x1: left.from, y1: at, x2: right.to + 8, y2: at }) +
        element('path', { class: 'ruler-grip', d: `M${left.to + 3} ${at}l10 -7h6v14h-6z` }),
    }
  }
  return { size: { width, height: HEIGHT }, still: still.join(''), moved }
}

/** In words what is drawn. */
export function rulerSentence(strip: Strip, taken: RulerPlace): string {
  const ruler = taken.share
  const over = strip.share.filter((share) => share >= ruler).length
  return (
    `The highest share in a pour is ${shareWords(Math.max(...strip.share))}. The ruler lies at ${shareWords(ruler)}: ` +
    `${over} of ${strip.share.length} slices of time reach it, ${countWords(taken.toHold)} castings are to hold, ` +
    `some ${countWords(taken.expected)} of them affected, ${outside(taken.leftOut)} of the metal outside.`
  )
}

function outside(part: number): string {
  return part < 0.001 ? 'below 0.1 %' : `${(part * 100).toFixed(part < 0.1 ? 1 : 0)} %`
}

type Upright = (share: number) => number

interface Across {
  from: number
  to: number
}

/** Between outline and ruler: certain where all of the interval reaches it, possible where some does. */
function fillings(strip: Strip, ruler: number, y: Upright, { from, to }: Across): string[] {
  const step = (to - from) / strip.share.length
  const at = y(ruler)
  // One shape for each texture: 400 of their own would be made anew with each step of the ruler.
  const bars = { 'dotted bare': '', solid: '', 'hatched bare': '' }
  const wide = px(step + 0.3)
  const bar = (texture: keyof typeof bars, i: number, top: number, bottom: number) => {
    if (bottom - top <= 0.2) return
    bars[texture] += `M${px(from + i * step)} ${px(top)}h${wide}V${px(bottom)}h${-wide}z`
  }
  for (const [i, share] of strip.share.entries()) {
    if (strip.unknown[i]! > 0) bar('dotted bare', i, TOP, y(0))
    else if (strip.low[i]! >= ruler) bar('solid', i, y(share), at)
    else if (strip.high[i]! >= ruler) bar('hatched bare', i, y(strip.high[i]!), at)
  }
  return Object.entries(bars).flatMap(([texture, d]) =>
    d === '' ? [] : [element('path', { class: texture, d })],
  )
}

/** The highest share of each slice; where nothing was poured there is nothing to outline. */
function outlineOf({ share, castings }: Strip, y: Upright, { from, to }: Across): string {
  const step = (to - from) / share.length
  const line = share
    .map((each, i) => {
      if (castings[i] === 0) return ''
      const isFirst = i === 0 || castings[i - 1] === 0
      return `${isFirst ? 'M' : 'L'}${px(from + i * step)} ${px(y(each))}h${px(step)}`
    })
    .join('')
  return element('path', { class: 'line', d: line })
}

function days({ at, until }: Strip, from: number, to: number): string[] {
  const [first, last] = [new Date(at[0]!), new Date(until)]
  const x = straight([first.getTime(), last.getTime()], [from, to])
  return momentTicks(first, last, MOMENTS).flatMap((moment) => [
    element('line', {
      class: 'thin',
      x1: x(moment.getTime()),
      y1: HEIGHT - BOTTOM,
      x2: x(moment.getTime()),
      y2: HEIGHT - BOTTOM + 5,
    }),
    text(x(moment.getTime()), HEIGHT - 10, dayOrClock(moment), {
      class: 'small',
      'text-anchor': 'middle',
    }),
  ])
}

/** At midnight the day, else the clock. */
function dayOrClock(moment: Date): string {
  return moment.getHours() + moment.getMinutes() > 0 ? clockWords(moment) : shortDayWords(moment)
}

/** To hold as an outline, affected within it; between them lies the price of mixing. */
function curveView(curve: Curve, y: Upright, x: (count: number) => number): string[] {
  const stairs = (counts: readonly number[], isBack: boolean) => {
    const points: string[] = []
    let count = 0
    for (const [i, share] of curve.share.entries()) {
      points.push(`${px(x(count))} ${px(y(share))}`, `${px(x(counts[i]!))} ${px(y(share))}`)
      count = counts[i]!
    }
    points.push(`${px(x(count))} ${px(y(0))}`)
    return (isBack ? points.reverse() : points).join('L')
  }
  return [
    element('path', {
      class: 'hatched bare',
      d: `M${stairs(curve.toHold, false)}L${stairs(curve.expected, true)}Z`,
    }),
    element('path', {
      class: 'solid',
      d: `M${stairs(curve.expected, false)}L${px(x(0))} ${px(y(0))}Z`,
    }),
    element('path', { class: 'line', d: `M${stairs(curve.toHold, false)}` }),
  ]
}

function px(value: number): number {
  return Math.round(value * 10) / 10
}
