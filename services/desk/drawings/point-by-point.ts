// A rate from point to point: open dots, and a band as wide as points usually differ. Those that broke a rule are full
// and named.
import { percentWords } from '../words/number.ts'
import { straight, ticks } from './scale.ts'
import { drawing, element, text } from './svg.ts'

/** One entry a point in every list. Shares 0 to 1. */
export interface Points {
  name: readonly string[]
  value: readonly number[]
  centre: readonly number[]
  lowerLimit: readonly number[]
  upperLimit: readonly number[]
  /** Places of those that broke a rule. */
  broken: ReadonlySet<number>
}

const HEIGHT = 240
const TOP = 22
const BOTTOM = 208
const LEFT = 64
const NAMES = 3
/** A sign of a small text, on the average. Unit: px. */
const SIGN = 6.2
/** Limits of a small point reach so far that they would squeeze all others. */
const MOST_TIMES = 2

export function pointByPoint(points: Points, width: number): string {
  const { name, value, centre, lowerLimit, upperLimit, broken } = points
  const highest = Math.max(...value, ...centre)
  const end = Math.max(highest * 1.1, Math.min(Math.max(...upperLimit), highest * MOST_TIMES), 1e-6)
  const y = straight([0, end], [BOTTOM, TOP])
  const x = straight([0, name.length], [LEFT, width - 4])
  const within = (share: number) => y(Math.min(end, Math.max(0, share)))
  const step = (of: readonly number[], i: number) =>
    `${x(i)} ${within(of[i]!)}L${x(i + 1)} ${within(of[i]!)}`
  const across = (of: readonly number[]) => of.map((_, i) => step(of, i)).join('L')
  const back = lowerLimit
    .map((_, i) => i)
    .reverse()
    .map((i) => `${x(i + 1)} ${within(lowerLimit[i]!)}L${x(i)} ${within(lowerLimit[i]!)}`)
  const middle = (i: number) => (x(i) + x(i + 1)) / 2
  const named = Math.max(1, Math.floor((width - LEFT) / (longest(name) * SIGN + 20)))
  const every = Math.ceil(name.length / named)
  return drawing(
    { width, height: HEIGHT, sentence: pointsSentence(points) },
    element('path', { class: 'within', d: `M${across(upperLimit)}L${back.join('L')}Z` }),
    ...ticks(y.ends, 3).flatMap((tick) => [
      element('line', { class: 'grid', x1: LEFT, x2: width - 4, y1: y(tick), y2: y(tick) }),
      text(LEFT - 8, y(tick) + 4, percentWords(tick), { class: 'small', 'text-anchor': 'end' }),
    ]),
    element('path', { class: 'thin', d: `M${across(centre)}` }),
    ...value.flatMap((share, i) => [
      element('circle', {
        ...{ class: broken.has(i) ? 'ink' : 'open-dot', cx: middle(i), cy: within(share) },
        r: broken.has(i) ? 6 : 4,
      }),
      ...(broken.has(i) && broken.size <= NAMES * 2
        ? [
            text(middle(i), within(share) - 10, name[i]!, {
              class: 'small',
              'text-anchor': anchorAt(i, name.length),
            }),
          ]
        : []),
    ]),
    ...name.flatMap((each, i) =>
      i % every === 0
        ? [
            text(middle(i), HEIGHT - 10, each, {
              class: 'small',
              'text-anchor': anchorAt(i, name.length),
            }),
          ]
        : [],
    ),
  )
}

function longest(names: readonly string[]): number {
  return Math.max(...names.map(({ length }) => length))
}

/** Names at the edges stay inside the drawing. */
function anchorAt(i: number, count: number): string {
  if (i === 0) return 'start'
  return i >= count * 0.9 ? 'end' : 'middle'
}

/** In words what is drawn. */
export function pointsSentence({ name, value, centre, broken }: Points): string {
  const named = [...broken].map((i) => `${name[i]} with ${percentWords(value[i]!)}`)
  const told = named.slice(0, NAMES).join(', ')
  const more = named.length > NAMES ? ` and ${named.length - NAMES} more` : ''
  return `${name.length} points about ${percentWords(centre.at(-1)!)}; ${named.length === 0 ? 'none lies outside what is usual' : `out of the ordinary: ${told}${more}`}.`
}
