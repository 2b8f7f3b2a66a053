// How often castings were bad at rising doses of a lot.
import { countWords, shareWords } from '../words/number.ts'
import { rounded, straight, ticks } from './scale.ts'
import { drawing, element, text } from './svg.ts'

export interface DoseSteps {
  /** Of the most that any casting carries; share 0 to 1. */
  dose: readonly number[]
  castings: readonly number[]
  rate: readonly number[]
  low: readonly number[]
  high: readonly number[]
}

const HEIGHT = 200
const BOTTOM = 160
const TOP = 14
const LEFT = 56

export function doseSteps(steps: DoseSteps, width: number): string {
  const x = straight([0, 1], [LEFT + 10, width - 14])
  const y = straight(rounded([0, Math.max(...steps.high, 1e-6)], 4), [BOTTOM, TOP])
  const points = steps.dose.map(
    (dose, i) => `${i === 0 ? 'M' : 'L'}${x(dose)} ${y(steps.rate[i]!)}`,
  )
  return drawing(
    { width, height: HEIGHT, sentence: doseSentence(steps) },
    ...ticks(y.ends, 4).flatMap((tick) => [
      element('line', { class: 'grid', x1: LEFT, x2: width - 14, y1: y(tick), y2: y(tick) }),
      text(LEFT - 8, y(tick) + 4, `${Number((tick * 100).toPrecision(2))} %`, {
        class: 'small',
        'text-anchor': 'end',
      }),
    ]),
    element('path', { class: 'line', d: points.join('') }),
    ...steps.dose.flatMap((dose, i) => [
      element('line', {
        ...{ class: 'line', x1: x(dose), x2: x(dose) },
        ...{ y1: y(steps.low[i]!), y2: y(steps.high[i]!) },
      }),
      element('circle', { class: 'ink', cx: x(dose), cy: y(steps.rate[i]!), r: 4 }),
    ]),
    text(x(0), BOTTOM + 18, 'none of it', { class: 'small' }),
    text(width - 14, BOTTOM + 18, 'the most of it', { class: 'small', 'text-anchor': 'end' }),
  )
}

export function doseSentence({ dose, castings, rate }: DoseSteps): string {
  const [first, last] = [0, dose.length - 1]
  return (
    `Of ${countWords(castings[first]!)} castings with least of it ${shareWords(rate[first]!)} is bad, ` +
    `of ${countWords(castings[last]!)} with most of it ${shareWords(rate[last]!)}.`
  )
}
