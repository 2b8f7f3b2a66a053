// Where a mark sits on a pan and its carton.
import { drawing, element, text } from './svg.ts'

/** Pan and carton side by side need so much. Unit: px. */
const WIDE = 500
const PAN = { width: 270, height: 160 }

export function markPlaces(width: number): string {
  const isWide = width >= WIDE
  // On a telephone the carton stands below the pan.
  const carton = isWide ? { x: 330, y: 12 } : { x: 62, y: PAN.height + 12 }
  const size = isWide
    ? { width: WIDE, height: PAN.height }
    : { width: PAN.width, height: 2 * PAN.height }
  const line = (x: number, y: number, to: { x: number; y: number }, words: string) => [
    element('line', { class: 'thin', x1: x, y1: y, x2: to.x, y2: to.y }),
    text(to.x, to.y + 16, words, { class: 'label', 'text-anchor': 'middle' }),
  ]
  return drawing(
    {
      ...size,
      sentence: 'A mark sits under the handle, in the middle of the underside, and on the carton.',
    },
    element('circle', { class: 'outline', cx: 120, cy: 70, r: 58 }),
    element('circle', { class: 'outline', cx: 120, cy: 70, r: 50 }),
    element('rect', { class: 'outline', x: 176, y: 61, width: 84, height: 18, rx: 8 }),
    element('rect', { class: 'outline', ...carton, width: 150, height: 104 }),
    element('rect', {
      ...{ class: 'outline', x: carton.x + 70, y: carton.y + 54, width: 66, height: 34 },
    }),
    ...line(120, 76, { x: 90, y: 132 }, 'underside'),
    ...line(218, 76, { x: 235, y: 132 }, 'handle'),
    ...line(carton.x + 102, carton.y + 64, { x: carton.x + 90, y: carton.y + 120 }, 'carton'),
  )
}
