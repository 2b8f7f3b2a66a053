// The way from lots to the piece: every stage is one bar of the same length, cut into parts, so that it visibly
// adds up to the whole. A dotted seam, the mold, stands where metal becomes pieces: above it shares of metal, solid;
// below it chances of one casting, hatched.
import { chanceWords, countWords, shareWords } from '../words/number.ts'
import { drawing, element, text } from './svg.ts'

export interface Stage {
  name: string
  /** Above the mold, parts by mass; below it, chances. */
  isMetal: boolean
  boxes: readonly { id: string; name: string; part: number }[]
  /** Those that are not drawn one by one. */
  others: { count: number; part: number }
}

export interface WayHere {
  stages: readonly Stage[]
  /** Part of the metal no report accounts for; share 0 to 1. */
  unrecorded: number
  /** That a casting comes from where no report says; chance 0 to 1. */
  unknownSource: number
  /** The box in hand, and those that feed it. */
  focus?: { id: string; feeders: ReadonlySet<string> }
}

const BAR = 20
const ROW = 56
const SEAM = 46
const SIDE = 132
/** Of the type that names parts; measured on the widest letters in use. Unit: px. */
const SIGN = 7.6
/** Below that the name stands over its bar, and the bar has the whole width. Unit: px. */
const NARROW = 560

export function wayHere(way: WayHere, width: number): string {
  const isNarrow = width < NARROW
  const [left, rowHeight] = isNarrow ? [0, ROW + 20] : [SIDE, ROW]
  const room = width - left - 2
  let y = 4
  const rows = way.stages.map((stage, i) => {
    const seam = !stage.isMetal && way.stages[i - 1]?.isMetal ? seamAt(y + 6, width) : ''
    if (seam) y += SEAM
    const top = isNarrow ? y + 20 : y
    const name = isNarrow
      ? text(0, y + 13, stage.name, { class: 'head' })
      : text(0, y + BAR - 5, stage.name, { class: 'head' })
    y += rowHeight
    return seam + name + barOf(stage, way, { left, top, room })
  })
  return drawing({ width, height: y, sentence: waySentence(way) }, ...rows)
}

function seamAt(y: number, width: number): string {
  return [
    element('line', { class: 'seam', x1: 0, x2: width, y1: y + 4, y2: y + 4 }),
    text(width, y + 22, 'pieces below, by chance', { class: 'small', 'text-anchor': 'end' }),
    text(0, y + 22, 'the mold', { class: 'head' }),
    text(width, y - 4, 'metal above, by mass', { class: 'small', 'text-anchor': 'end' }),
  ].join('')
}

interface Part {
  id?: string
  name: string
  part: number
  texture: string
}

/** All parts of a stage, with what is left and what nobody knows; they come to 1 where the record is whole. */
export function partsOf(stage: Stage, way: Pick<WayHere, 'unrecorded' | 'unknownSource'>): Part[] {
  const texture = stage.isMetal ? 'rest' : 'hatched'
  const parts: Part[] = stage.boxes.map(({ id, name, part }) => ({ id, name, part, texture }))
  if (stage.others.count > 0)
    parts.push({
      ...{ name: `${countWords(stage.others.count)} more`, texture: 'empty' },
      part: stage.others.part,
    })
  const unknown = stage.isMetal ? way.unrecorded : way.unknownSource
  if (unknown > 0) parts.push({ name: 'not reported', part: unknown, texture: 'dotted' })
  return parts
}

function barOf(
  stage: Stage,
  way: WayHere,
  { left, top, room }: { left: number; top: number; room: number },
): string {
  const parts = partsOf(stage, way)
  // A stage that castings pass twice comes to more than the whole; it still fills one bar.
  const whole = Math.max(
    1,
    parts.reduce((sum, { part }) => sum + part, 0),
  )
  let x = left + 1
  let named = x
  const drawn = parts.map(({ id, name, part, texture }) => {
    const width = (room * part) / whole
    const isFocus = id !== undefined && id === way.focus?.id
    const feeds = id !== undefined && way.focus?.feeders.has(id)
    const box = element('rect', {
      ...{ class: `${isFocus ? 'ink' : texture}${feeds ? ' feeds' : ''} part` },
      ...{ x, y: top, width: Math.max(0.5, width), height: BAR },
      'data-id': id,
    })
    const words = `${name} ${stage.isMetal ? inHundred(part) : chanceWords(part)}`
    // Names stand under their parts as long as there is room for them.
    const hasRoom = x >= named - 1 && width > 14 && x + words.length * SIGN < left + room + 6
    const label = hasRoom ? text(x, top + BAR + 17, words, { class: 'small', 'data-id': id }) : ''
    if (hasRoom) named = x + (words.length + 2) * SIGN
    x += width
    return box + label
  })
  return (
    element('rect', { class: 'outline', x: left + 1, y: top, width: room, height: BAR }) +
    drawn.join('')
  )
}

function inHundred(share: number): string {
  return share >= 0.1 ? String(Math.round(share * 100)) : shareWords(share)
}

/** The drawing in words, from the same parts. */
export function waySentence(way: WayHere): string {
  const told = (isMetal: boolean) =>
    way.stages
      .filter((stage) => stage.isMetal === isMetal && stage.boxes.length > 0)
      .map(({ name, boxes }) => {
        const [first] = boxes
        const words = isMetal ? shareWords(first!.part) : chanceWords(first!.part)
        return `${name}: ${first!.name} ${words}${boxes.length > 1 ? ' and others' : ''}`
      })
      .join('; ')
  return [
    told(true) && `Metal by mass, ${told(true)}.`,
    told(false) && `Pieces by chance, ${told(false)}.`,
  ]
    .filter(Boolean)
    .join(' ')
}
