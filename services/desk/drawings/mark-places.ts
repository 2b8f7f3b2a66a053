// Where a mark sits on a pan and its carton.
import { drawing, element, text } from './svg.ts'

export function markPlaces(width: number): string {
  const y = 70
  const line = (x: number, to: number, words: string) => [
    element('line', { class: 'thin', x1: x, y1: y + 6, x2: to, y2: 132 }),
    text(to, 148, words, { class: 'label', 'text-anchor': 'middle' }),
  ]
  return drawing(
    {
      ...{ width, height: 160 },
      sentence: 'A mark sits under the handle, in the middle of the underside, and on the carton.',
    },
    element('circle', { class: 'outline', cx: 120, cy: y, r: 58 }),
    element('circle', { class: 'outline', cx: 120, cy: y, r: 50 }),
    element('rect', { class: 'outline', x: 176, y: y - 9, width: 84, height: 18, rx: 8 }),
    element('rect', { class: 'outline', x: 330, y: 12, width: 150, height: 104 }),
    element('rect', { class: 'outline', x: 400, y: y - 4, width: 66, height: 34 }),
    ...line(120, 90, 'underside'),
    ...line(218, 235, 'handle'),
    ...line(432, 420, 'carton'),
  )
}
