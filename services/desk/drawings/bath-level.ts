// A furnace as a level over its heats: a step up is filled, a step down is tapped, and the floor of the teeth is the
// heel. What is followed lies at the bottom as filling, so its height is its mass.
import { shareWords } from '../words/number.ts'
import { figures } from '../words/units.ts'
import { rounded, straight, ticks } from './scale.ts'
import { drawing, element, text } from './svg.ts'

export interface BathLevel {
  change: readonly string[]
  /** The heat the bath then counts as. */
  heat: readonly (string | null)[]
  kg: readonly number[]
  /** Part of the bath that is followed; share 0 to 1. */
  share: readonly number[]
  /** The heats in question. */
  ours: ReadonlySet<string>
}

const HEIGHT = 190
const TOP = 34
const BOTTOM = 150
const LEFT = 58

interface Tooth {
  heat: string
  from: number
  to: number
  /** At its fullest: that is what was poured. */
  share: number
}

export function bathLevel(bath: BathLevel, width: number): string {
  const x = straight([0, bath.kg.length], [LEFT, width - 4])
  const y = straight(rounded([0, Math.max(...bath.kg, 1)], 3), [BOTTOM, TOP])
  const teeth = teethOf(bath)
  const step = (value: (i: number) => number) =>
    bath.kg.map((_, i) => `L${x(i)} ${y(value(i))}L${x(i + 1)} ${y(value(i))}`).join('')
  const closed = (path: string) => `M${LEFT} ${BOTTOM}${path}L${x(bath.kg.length)} ${BOTTOM}Z`
  const narrow = (width - LEFT) / Math.max(1, teeth.length) < 120
  return drawing(
    { width, height: HEIGHT, sentence: bathSentence(bath) },
    ...ticks(y.ends, 3).flatMap((tick) => [
      element('line', { class: 'grid', x1: LEFT, x2: width - 4, y1: y(tick), y2: y(tick) }),
      text(LEFT - 8, y(tick) + 4, `${figures(tick)}`, { class: 'small', 'text-anchor': 'end' }),
    ]),
    text(0, 14, 'kg', { class: 'head' }),
    element('path', { class: 'bath', d: closed(step((i) => bath.kg[i]!)) }),
    element('path', { class: 'solid', d: closed(step((i) => bath.kg[i]! * bath.share[i]!)) }),
    element('path', { class: 'line', d: `M${LEFT} ${BOTTOM}${step((i) => bath.kg[i]!)}` }),
    ...teeth.flatMap((tooth, i) => {
      const middle = (x(tooth.from) + x(tooth.to)) / 2
      const name = tooth.heat.replace(/^heat:/, '')
      const isOurs = bath.ours.has(tooth.heat)
      return [
        i > 0
          ? element('line', {
              class: 'grid',
              x1: x(tooth.from),
              x2: x(tooth.from),
              y1: TOP,
              y2: BOTTOM,
            })
          : '',
        text(middle, BOTTOM + 18, narrow ? name.slice(-6) : name, {
          class: isOurs ? 'small strong' : 'small',
          'text-anchor': 'middle',
        }),
        text(middle, BOTTOM + 35, shareWords(tooth.share), {
          class: isOurs ? 'small strong' : 'small',
          'text-anchor': 'middle',
        }),
      ]
    }),
  )
}

/** One tooth a heat: from its first change to its last. */
export function teethOf({ heat, kg, share }: BathLevel): Tooth[] {
  const teeth: (Tooth & { fullest: number })[] = []
  heat.forEach((id, i) => {
    if (id === null) return
    const last = teeth.at(-1)
    if (last?.heat !== id) {
      teeth.push({ heat: id, from: i, to: i + 1, share: share[i]!, fullest: kg[i]! })
      return
    }
    last.to = i + 1
    if (kg[i]! >= last.fullest) Object.assign(last, { share: share[i]!, fullest: kg[i]! })
  })
  return teeth
}

export function bathSentence(bath: BathLevel): string {
  return teethOf(bath)
    .map(({ heat, share }) => `heat ${heat.replace(/^heat:/, '')} ${shareWords(share)}`)
    .join(', ')
}
