// What is this text? Typed, scanned or pasted: what it names, where, and what may be asked of it.
import { hasOneOf } from '../../access/who.ts'
import type { View } from '../../metal/followed.ts'
import type { Context } from '../context.ts'
import { listed } from '../estimate.ts'
import { refusal } from '../refusal.ts'
import { markOf } from '../things/marks.ts'
import { isScanned } from '../things/scan.ts'
import { type Ask, asksOf, asksOfMark } from './asks.ts'
import { type Fitting, type Found, KnownNames } from './known-names.ts'
import { misread } from './misread.ts'
import { type Piece, piecesOf } from './words-in-text.ts'

const LONGEST_TEXT = 8000
const MOST_FOUND = 50
const MOST_CANDIDATES = 10
/** What a person types is no longer than this. */
const TYPED_WORDS = 4
const TYPED_SIGNS = 60

type ReadAs = 'TYPED' | 'SCANNED' | 'PASTED'

/** Throws BAD_USER_INPUT for a text that is too long. */
export async function inHand(context: Context, { text }: { text: string }): Promise<object> {
  if (text.length > LONGEST_TEXT)
    throw refusal(
      'BAD_USER_INPUT',
      `text may have ${LONGEST_TEXT} signs, and has ${text.length}: give the part that names things.`,
    )
  const readAs = readAsOf(text)
  const found = await foundIn(context, text, readAs)
  const tracing = hasOneOf(context.who, ['quality', 'analyst'])
  const { view } = (await context.snapshot()).at()
  const things = found.map((one) => foundThing(context, view, one))
  const marks = found.flatMap((one) => foundMark(context, view, one) ?? [])
  const named = tracing
    ? things.map(({ label }) => label)
    : marks.map(({ mark, written }) => mark ?? written)
  return {
    readAs,
    sentence: sentenceOf(named, tracing ? things : marks, tried(tracing)),
    things,
    marks,
    tried: named.length > 0 ? [] : tried(tracing),
  }
}

function readAsOf(text: string): ReadAs {
  if (isScanned(text)) return 'SCANNED'
  const short = text.trim()
  const words = short.split(/\s+/).length
  return words <= TYPED_WORDS && short.length <= TYPED_SIGNS && !short.includes('\n')
    ? 'TYPED'
    : 'PASTED'
}

/** In the order of the text, none inside another. */
async function foundIn(context: Context, text: string, readAs: ReadAs): Promise<Found[]> {
  const offset = text.length - text.trimStart().length
  const written = text.trim()
  const whole: Piece = {
    ...{ offset, length: written.length, written, words: 1 },
    readings: [{ scan: written }],
  }
  const pieces = readAs === 'SCANNED' ? [whole, ...piecesOf(text)] : piecesOf(text)
  const known = await KnownNames.of(context, readAs !== 'PASTED')
  const found: Found[] = []
  let end = 0
  for (const piece of pieces) {
    if (piece.offset < end || found.length >= MOST_FOUND) continue
    const fits = await known.fits(piece)
    if (fits.length === 0) continue
    found.push({ piece, fits, guessed: false })
    end = piece.offset + piece.length
  }
  if (found.length > 0 || written === '') return found
  return misread(context, pieces)
}

function foundThing(context: Context, view: View, { piece, fits, guessed }: Found) {
  const { offset, length, written } = piece
  const shown = fits.slice(0, MOST_CANDIDATES).map((one) => ({
    ...one,
    label: labelOf(view, context.plant, one),
  }))
  const [first] = shown
  const one = fits.length === 1 && !guessed ? first : undefined
  const kinds = new Set(fits.map(({ kind }) => kind))
  const asks = (of: Fitting & { label: string }): Ask[] => asksOf(context.who, of.kind, of)
  return {
    ...{ offset, length, written },
    id: one?.id ?? null,
    kind: kinds.size === 1 ? fits[0]!.kind : null,
    label:
      one?.label ??
      `${written}, which may be ${listed(
        shown.map(({ label }) => label),
        3,
      )}`,
    candidates: one ? [] : shown.map((each) => ({ ...each, asks: asks(each) })),
    asks: one ? asks(one) : [],
    unclear: !one,
  }
}

/** For reps: marks of packs and pans, and nothing behind them. */
function foundMark(context: Context, view: View, { piece, fits, guessed }: Found) {
  const { offset, length, written } = piece
  const byMark = new Map<string, Fitting>()
  for (const one of fits) {
    const no = view.things.numberOf(context.plant, one.id)
    if (no === undefined || !['pack', 'pan'].includes(one.kind)) continue
    const mark = markOf(view, no, one.readAs ?? written)
    byMark.set(mark, { ...one, fit: one.fit + (byMark.get(mark)?.fit ?? 0) })
  }
  if (byMark.size === 0) return undefined
  const shown = [...byMark].slice(0, MOST_CANDIDATES)
  const only = byMark.size === 1 && !guessed ? shown[0]![0] : undefined
  return {
    ...{ offset, length, written },
    mark: only ?? null,
    candidates: only ? [] : shown.map(([mark, { fit, because }]) => ({ mark, because, fit })),
    asks: only ? asksOfMark(only) : [],
    unclear: only === undefined,
  }
}

/** As people call it: lot 3381, pack PK0412-020 (K20-0412-B11). */
function labelOf(view: View, plant: string, { id, kind }: Fitting): string {
  const no = view.things.numberOf(plant, id)
  const number = id.slice(id.indexOf(':') + 1)
  if (no === undefined) return `an answer of ${kind}`
  const mark = kind === 'pack' ? markOf(view, no, number) : number
  return mark === number ? `${kind} ${number}` : `${kind} ${number} (${mark})`
}

function tried(tracing: boolean): string[] {
  const codes = ['marks of packs', 'serials of pans', 'codes of scanners']
  if (!tracing) return codes
  return [
    ...codes,
    'numbers of lots, heats, pours, loads and all else that is traced',
    'what suppliers call their lots',
    'numbers of holds, complaints and answers',
  ]
}

function sentenceOf(
  named: readonly string[],
  found: readonly { unclear: boolean }[],
  tried: readonly string[],
): string {
  if (named.length === 0) return `Nothing in it is known. Tried: ${listed(tried, 9)}.`
  const unclear = found.filter((one) => one.unclear).length
  if (named.length === 1)
    return unclear === 1 ? `It is not clear: ${named[0]}.` : `It is ${named[0]}.`
  const rest =
    unclear === 0 ? '' : ` ${unclear === 1 ? '1 of them is' : `${unclear} of them are`} not clear.`
  return `It names ${listed(named)}.${rest}`
}
