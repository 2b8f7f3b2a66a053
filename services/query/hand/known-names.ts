// What of the pieces of a text is known: things of the record by their numbers, marks by what bears them,
// lots by what their supplier calls them. Many at once, since a mail has hundreds of words.
import { hasOneOf, type Who } from '../../access/who.ts'
import { THINGS } from '../../events/fact.ts'
import type { View } from '../../metal/followed.ts'
import { askedIn } from '../answers/answer-id.ts'
import type { Context } from '../context.ts'
import { type MarkBook, markKey } from '../record/mark-book.ts'
import { find } from '../things/name.ts'
import { NOW } from '../things/thing.ts'
import type { Piece, Reading } from './words-in-text.ts'

/** What a piece may be. */
export interface Fitting {
  id: string
  kind: string
  because: string
  /** The mark it was taken for, where that is not what is written. */
  readAs?: string
  /** Adds up to 1 over all that fit. */
  fit: number
}

/** A piece of the text with what it may be. */
export interface Found {
  piece: Piece
  fits: Fitting[]
  /** It only looks like what was written: never taken for it. */
  guessed: boolean
}

/** Fewer signs would be found in any text. */
const LEAST_SIGNS = 4
/** Figures alone are more often a count, a year or a price. */
const LEAST_FIGURES = 5
/** Marks with signs that cannot be read are looked for one by one. */
const MOST_UNREAD = 5

/** Looks up all pieces of a text for one reader: what is not theirs is not known. */
export class KnownNames {
  readonly #context: Context
  readonly #view: View
  readonly #kinds: ReadonlySet<string>
  readonly #marked: MarkBook
  readonly #supplierLots: ReadonlyMap<string, number[]>
  /** A person typed no more than this. */
  readonly #alone: boolean
  #unread = 0

  private constructor(context: Context, view: View, marked: MarkBook, alone: boolean) {
    this.#context = context
    this.#view = view
    this.#kinds = kindsFor(context.who)
    this.#marked = marked
    this.#supplierLots = this.#kinds.has('lot') ? supplierLots(view, context.plant) : new Map()
    this.#alone = alone
  }

  static async of(context: Context, alone: boolean): Promise<KnownNames> {
    const snapshot = await context.snapshot()
    return new KnownNames(context, snapshot.at().view, snapshot.marks, alone)
  }

  /** By its first reading that is known; empty when none is. */
  async fits(piece: Piece): Promise<Fitting[]> {
    for (const reading of piece.readings) {
      const found = (await this.#read(reading)).filter(({ kind }) => this.#kinds.has(kind))
      if (found.length > 0) return evened(found)
    }
    return []
  }

  async #read(reading: Reading): Promise<Omit<Fitting, 'fit'>[]> {
    if ('answer' in reading) return this.#answer(reading.answer)
    if ('id' in reading) return this.#named([reading.id], 'its id is that')
    if ('scan' in reading) return this.#found({ scan: reading.scan })
    if ('mark' in reading) return this.#marks(reading.mark)
    return this.#numbers(reading.number, reading.kinds)
  }

  #answer(written: string): Omit<Fitting, 'fit'>[] {
    const asked = askedIn(written)
    return asked
      ? [{ id: written, kind: asked.question, because: 'it is the number of an answer' }]
      : []
  }

  #numbers(number: string, kinds: readonly string[] | undefined): Omit<Fitting, 'fit'>[] {
    const plain = number.replace(/^#/, '')
    if (kinds) {
      const found = this.#named(
        spelled(plain).flatMap((one) => kinds.map((kind) => `${kind}:${one}`)),
        'its number is that',
      )
      return found.length > 0 ? found : this.#bySupplier(plain)
    }
    const least = /^\d+$/.test(plain) ? LEAST_FIGURES : LEAST_SIGNS
    if (!this.#alone && (plain.length < least || !/\d/.test(plain))) return []
    const ids = spelled(plain).flatMap((one) => [...this.#kinds].map((kind) => `${kind}:${one}`))
    return [...this.#named(ids, 'its number is that'), ...this.#bySupplier(plain)]
  }

  #bySupplier(number: string): Omit<Fitting, 'fit'>[] {
    return (this.#supplierLots.get(markKey(number)) ?? []).map((lot) => ({
      id: this.#view.things.name(lot),
      kind: 'lot',
      because: `its supplier calls it ${number}`,
    }))
  }

  #named(ids: readonly string[], because: string): Omit<Fitting, 'fit'>[] {
    const { things } = this.#view
    const found = new Set(ids.flatMap((id) => things.numberOf(this.#context.plant, id) ?? []))
    return [...found].map((no) => ({ id: things.name(no), kind: things.kind(no), because }))
  }

  async #marks(mark: string): Promise<Omit<Fitting, 'fit'>[]> {
    if (!mayBeMark(mark, this.#alone)) return []
    if (mark.includes('?')) return this.#unread++ < MOST_UNREAD ? this.#found({ mark }) : []
    return [...this.#marked.packs(this.#context.plant, mark, NOW)].map(([no, marks]) => ({
      id: this.#view.things.name(no),
      kind: this.#view.things.kind(no),
      because: `it bears the mark ${marks.join(', ')}`,
    }))
  }

  async #found(by: { mark: string } | { scan: string }): Promise<Omit<Fitting, 'fit'>[]> {
    const found = await find(this.#context, by)
    if (found.found === 'none') return []
    const { things } = this.#view
    if (found.found === 'one')
      return [{ id: found.name, kind: things.kind(found.no), because: 'it is all that fits' }]
    return found.candidates.map(({ no, because }) => {
      return { id: things.name(no), kind: things.kind(no), because }
    })
  }
}

/** What a reader may be told there is. */
export function kindsFor(who: Who): ReadonlySet<string> {
  if (hasOneOf(who, ['quality']))
    return new Set([...THINGS, 'hold', 'recall', 'drill', 'complaint', ...ANSWERS, 'reach'])
  if (hasOneOf(who, ['analyst']))
    return new Set([
      ...THINGS.filter((kind) => kind !== 'shipment'),
      'hold',
      'complaint',
      ...ANSWERS,
    ])
  return new Set(['pack', 'pan'])
}

/** Answers open to all who trace. */
const ANSWERS = [
  'origins',
  'chart',
  'capability',
  'defectRates',
  'concentration',
  'reconcile',
  'causes',
]

function mayBeMark(mark: string, alone: boolean): boolean {
  const read = markKey(mark).replaceAll('?', '')
  if (mark.length > 100 || mark.includes('\0') || read.length < 3) return false
  return alone || (read.length >= LEAST_SIGNS && /\d/.test(read))
}

function supplierLots(view: View, plant: string): Map<string, number[]> {
  const lots = new Map<string, number[]>()
  for (const { fact } of view.book.all('lot-received', view.asOf)) {
    if (!fact.supplierLots || view.things.plant(fact.of) !== plant) continue
    for (const lot of fact.supplierLots) {
      const key = markKey(lot)
      lots.set(key, [...(lots.get(key) ?? []), fact.of])
    }
  }
  return lots
}

/** Numbers are exact; people are not careful with capitals. */
function spelled(number: string): string[] {
  return [...new Set([number, number.toUpperCase(), number.toLowerCase()])]
}

function evened(found: readonly Omit<Fitting, 'fit'>[]): Fitting[] {
  const byId = new Map(found.map((one) => [one.id, one]))
  return [...byId.values()].map((one) => ({ ...one, fit: 1 / byId.size }))
}
