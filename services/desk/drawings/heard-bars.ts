// One short bar a station, each as far right as it is heard.
import { drawing, element, text } from './svg.ts'

interface Heard {
  asOf: string
  stations: { station: string; heardUpTo?: string | null }[]
}

const ROW = 18
const LABEL = 76
/** The left end of the bars: so long before the newest. Unit: ms. */
const SHOWN_MS = 8 * 3_600_000

export function heardBars({ stations }: Heard, width: number): string {
  const times = stations.map(({ heardUpTo }) => (heardUpTo ? Date.parse(heardUpTo) : undefined))
  const newest = Math.max(...times.map((time) => time ?? 0))
  const room = width - LABEL
  const rows = stations.flatMap(({ station }, i) => {
    const time = times[i]
    const part = time === undefined ? 0 : Math.max(0.01, 1 - (newest - time) / SHOWN_MS)
    const y = i * ROW
    return [
      text(0, y + 12, station.toLowerCase(), { class: 'label' }),
      element('rect', { class: 'outline', x: LABEL, y: y + 3, width: room, height: ROW - 8 }),
      element('rect', { class: 'rest', x: LABEL, y: y + 3, width: room * part, height: ROW - 8 }),
    ]
  })
  const sentence = stations
    .map(({ station, heardUpTo }) => `${station.toLowerCase()} heard up to ${heardUpTo ?? 'never'}`)
    .join('; ')
  return drawing({ width, height: stations.length * ROW, sentence }, ...rows)
}
