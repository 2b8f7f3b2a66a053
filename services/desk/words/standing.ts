// Standing is a texture with a word and a sign; colour only repeats it.

export const STANDINGS = {
  CERTAIN: { word: 'certain', sign: '■', texture: 'solid' },
  POSSIBLE: { word: 'possible', sign: '▨', texture: 'hatched' },
  CLEAR: { word: 'clear', sign: '□', texture: 'empty' },
  UNKNOWN: { word: 'not known', sign: '?', texture: 'dotted' },
} as const

export type StandingName = keyof typeof STANDINGS

/** "■ certain". */
export function standingWords(standing: StandingName): string {
  const { sign, word } = STANDINGS[standing]
  return `${sign} ${word}`
}

const KINDS = [
  ...['lot', 'bin', 'charge', 'furnace', 'heat', 'ladle', 'pour'],
  ...['sand', 'molds', 'load', 'tote', 'pack', 'pan', 'shipment'],
]

/** Whether it is the id of a thing; else it is a mark. */
export function isThing(id: string): boolean {
  return id.includes(':') && KINDS.includes(id.slice(0, id.indexOf(':')))
}

/** "pack PK0412-020" as its id; what names no kind stays as it is. */
export function thingWritten(text: string): string {
  const name = text.trim().replace(/\s+/g, ' ')
  const [, kind = '', number = ''] = /^(\w+)[ :](.+)$/.exec(name) ?? []
  return KINDS.includes(kind.toLowerCase()) ? `${kind.toLowerCase()}:${number}` : name
}

/** A thing as one says it: "pack PK0412-020". */
export function thingWords(id: string): string {
  const at = id.indexOf(':')
  return `${id.slice(0, at)} ${id.slice(at + 1)}`.trim()
}
