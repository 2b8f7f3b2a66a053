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

/** A thing as one says it: "pack PK0412-020". */
export function thingWords(id: string): string {
  const at = id.indexOf(':')
  return `${id.slice(0, at)} ${id.slice(at + 1)}`.trim()
}
