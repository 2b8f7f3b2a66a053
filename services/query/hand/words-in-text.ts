// A text taken apart into what may be a name: ids, codes, numbers behind the word for their kind, marks of
// one word or several. What of it is known is not asked here.
import { SEPARATOR } from '../things/scan.ts'

/** A piece of a text that may name something. */
export interface Piece {
  offset: number
  length: number
  written: string
  /** As names to try, the likeliest reading first. */
  readings: Reading[]
  /** How many of its words stand behind each other; more is more surely meant. */
  words: number
}

export type Reading =
  | { id: string }
  | { scan: string }
  | { answer: string }
  /** Of the kinds that the words before it say; of any where they say none. */
  | { number: string; kinds: readonly string[] | undefined }
  | { mark: string }

/** What people call things, by the word in front of a number; common practice, no source. */
const KINDS: Readonly<Record<string, readonly string[]>> = {
  lot: ['lot'],
  batch: ['lot', 'sand', 'pack'],
  charge: ['charge'],
  heat: ['heat'],
  melt: ['heat'],
  ladle: ['ladle'],
  sand: ['sand'],
  mold: ['molds'],
  pour: ['pour'],
  load: ['load'],
  rack: ['load'],
  tote: ['tote'],
  bin: ['bin'],
  bay: ['bin'],
  bunker: ['bin'],
  silo: ['bin'],
  furnace: ['furnace'],
  pack: ['pack'],
  carton: ['pack'],
  pan: ['pan'],
  serial: ['pan'],
  shipment: ['shipment'],
  hold: ['hold'],
  recall: ['recall'],
  drill: ['drill'],
  complaint: ['complaint'],
}
/** Between the word and its numbers. */
const FILLERS = new Set(['no', 'nr', 'number', 'numbers', 'and', 'or', 'to', '#'])

const SPECIAL = new RegExp(
  [
    'https?://[^\\s<>"]+',
    // A GS1 element string with brackets, and one with the sign that ends a field.
    '(?:\\(\\d{2,4}\\)[^\\s()]{1,90})+',
    `\\S*${SEPARATOR}\\S*`,
    '\\b[A-Za-z]{3,16}:[A-Za-z0-9_-]{20,4000}\\b',
    '\\b(?:[a-z0-9-]{1,20}/)?[a-z]{3,10}:[^\\s:,;()<>"]{1,64}',
  ].join('|'),
  'g',
)
const WORD = /[\p{L}\p{N}#][\p{L}\p{N}_./?#+*-]*/gu
const MOST_WORDS_OF_A_MARK = 4

/** Pieces in the order of the text; where one lies inside another, the longer one stands first. */
export function piecesOf(text: string): Piece[] {
  const pieces: Piece[] = []
  const rest = text.replace(SPECIAL, (written, ...more) => {
    const offset = more.findLast((each) => typeof each === 'number') as number
    pieces.push(specialPiece(written, offset))
    return ' \n'.padEnd(written.length)
  })
  const words = [...rest.matchAll(WORD)].map(({ 0: written, index }) => wordAt(written, index))
  let kinds: readonly string[] | undefined
  for (const [i, word] of words.entries()) {
    const spoken = word.written.toLowerCase().replace(/\.$/, '')
    const said = KINDS[spoken] ?? KINDS[spoken.replace(/s$/, '')]
    if (said) kinds = said
    else if (!FILLERS.has(spoken) && !/\d/.test(word.written) && words.length > 2) kinds = undefined
    pieces.push(...piecesFrom(rest, words, i, said ? undefined : kinds))
  }
  return pieces.sort((a, b) => a.offset - b.offset || b.length - a.length)
}

function specialPiece(matched: string, offset: number): Piece {
  const written = matched.replace(/^http/.test(matched) ? /[.,;!?)]+$/ : /[.,;!]+$/, '')
  const reading: Reading[] =
    written.includes(':') && !/^https?:|^\(/.test(written)
      ? [{ answer: written }, { id: written }, { scan: written }]
      : [{ answer: answerInLink(written) }, { scan: written }]
  return { offset, length: written.length, written, readings: reading, words: 1 }
}

/** A printed code leads to a page: the number of its answer stands somewhere in it. */
function answerInLink(link: string): string {
  try {
    return (
      /[A-Za-z]{3,16}:[A-Za-z0-9_-]{20,4000}/.exec(decodeURIComponent(link.slice(8)))?.[0] ?? ''
    )
  } catch {
    return ''
  }
}

interface Word {
  offset: number
  /** Without the marks that end a sentence. */
  written: string
  /** With them: `?` may stand for a sign that cannot be read. */
  whole: string
}

function wordAt(whole: string, offset: number): Word {
  return { offset, written: whole.replace(/[?./*+-]+$/, '') || whole, whole }
}

/** What begins at a word: one to four words as a mark, and the word alone as a number. */
function* piecesFrom(
  text: string,
  words: readonly Word[],
  i: number,
  kinds: readonly string[] | undefined,
): Iterable<Piece> {
  const first = words[i]!
  for (let n = Math.min(MOST_WORDS_OF_A_MARK, words.length - i); n >= 1; n--) {
    const last = words[i + n - 1]!
    if (!isUnbroken(text, words.slice(i, i + n))) continue
    const written = text.slice(first.offset, last.offset + last.written.length)
    const whole = text.slice(first.offset, last.offset + last.whole.length)
    const readings: Reading[] = []
    if (n === 1) readings.push({ number: written, kinds })
    readings.push({ mark: written })
    if (whole !== written && /\?$/.test(whole)) readings.push({ mark: whole })
    yield { offset: first.offset, length: written.length, written, readings, words: n }
  }
}

/** Whether only spaces and dashes stand between words. */
function isUnbroken(text: string, words: readonly Word[]): boolean {
  return words.every((word, i) => {
    const next = words[i + 1]
    return !next || /^[ \t-]{1,3}$/.test(text.slice(word.offset + word.written.length, next.offset))
  })
}
