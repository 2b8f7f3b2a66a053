// SVG as text. Drawings are pure functions of columns and a width, so that they can be tested, printed and
// painted alike.

export type Attributes = Record<string, string | number | undefined>

/** One element; children are elements already made. */
export function element(name: string, attributes: Attributes, ...children: string[]): string {
  const said = Object.entries(attributes)
    .filter(([, value]) => value !== undefined)
    .map(
      ([key, value]) => ` ${key}="${escaped(typeof value === 'number' ? round(value) : value!)}"`,
    )
    .join('')
  return children.length === 0
    ? `<${name}${said}/>`
    : `<${name}${said}>${children.join('')}</${name}>`
}

export function text(x: number, y: number, words: string, attributes: Attributes = {}): string {
  return element('text', { x, y, ...attributes }, escaped(words))
}

/** A text in lines that fit a width; no word is cut. */
export function linesOf(words: string, width: number): string[] {
  const most = Math.max(12, Math.floor(width / SIGN))
  const lines: string[] = []
  for (const word of words.split(' ')) {
    const last = lines.at(-1)
    if (last !== undefined && last.length + 1 + word.length <= most)
      lines[lines.length - 1] = `${last} ${word}`
    else lines.push(word)
  }
  return lines
}

/** A sign of a text of 14 px on the average. Unit: px. */
const SIGN = 7

/** The whole drawing; textures come along, since each has to be printed by itself. */
export function drawing(
  { width, height, sentence }: { width: number; height: number; sentence: string },
  ...children: string[]
): string {
  return element(
    'svg',
    {
      ...{ xmlns: 'http://www.w3.org/2000/svg', viewBox: `0 0 ${width} ${height}`, width, height },
      ...{ role: 'img', 'aria-label': sentence, class: 'drawing' },
    },
    TEXTURES,
    ...children,
  )
}

/** A drawing in a row of a table that says the same in figures: nothing to be read aloud, and no textures. */
export function strip(size: { width: number; height: number }, ...children: string[]): string {
  const { width, height } = size
  return element(
    'svg',
    {
      ...{ xmlns: 'http://www.w3.org/2000/svg', viewBox: `0 0 ${width} ${height}`, width, height },
      ...{ 'aria-hidden': 'true', class: 'drawing' },
    },
    ...children,
  )
}

/** Certain solid, possible hatched, clear empty, not known dotted: readable in black on white paper. */
export const TEXTURES = [
  '<defs>',
  '<pattern id="hatched" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">',
  '<rect class="paper" width="6" height="6"/><rect class="ink" width="2.6" height="6"/></pattern>',
  '<pattern id="dotted" width="6" height="6" patternUnits="userSpaceOnUse">',
  '<rect class="paper" width="6" height="6"/><circle class="ink" cx="3" cy="3" r="1.2"/></pattern>',
  '</defs>',
].join('')

export function escaped(value: string | number): string {
  return String(value)
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
}

function round(value: number): number {
  return Math.round(value * 100) / 100
}
