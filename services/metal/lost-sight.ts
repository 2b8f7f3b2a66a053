// Metal that reports lose sight of: it went into a vessel and no report says what became of it. From
// then on metal of no known origin could be it, and so could be any lot that was in it.
import type { Fact, Ms } from '../events/fact.ts'
import { type FactBook, NOW, type Noted } from './fact-book.ts'
import { kept } from './kept.ts'
import { PerThing } from './per-thing.ts'
import type { Things } from './things.ts'

// Common practice, no source: clocks of two stations.
export const CLOCKS: Ms = 15 * 60_000
// Common practice, no source: less than this part of a filling stays in the ladle or is spilled unsaid.
const STAYS = 0.1

interface Known {
  book: FactBook
  things: Things
  asOf: Ms
}

/** One moment of the record, as far as it tells where metal was lost sight of. */
interface Seen extends Known {
  melt: { lostSight: LostSight; told(): Iterable<number> }
  castings: { pours(): Iterable<{ reported: boolean; at: Ms }> }
}

/** Since when metal of each ladle, charge and heat is lost sight of, as of now. */
export class LostSight {
  readonly #moments: PerThing<Ms>

  constructor(book: FactBook, things: Things) {
    const now = { book, things, asOf: NOW }
    this.#moments = new PerThing(
      (no) => lostAt(now, no),
      (no) => readersOf(now, no),
    )
  }

  /** A fact came into force, or went out of it. */
  turned({ fact }: Noted): void {
    for (const end of SAYS[fact.what] ?? []) {
      const no = (fact as Partial<Record<End, number>>)[end]
      if (no !== undefined) this.#moments.stir(no)
    }
  }

  moments(): Iterable<Ms> {
    return this.#moments.all().values()
  }
}

type End = 'of' | 'other' | 'via'

/** Of which of the things it names a fact is read here. */
const SAYS: Partial<Record<Fact['what'], readonly End[]>> = {
  'lot-received': ['of'],
  'returned-from': ['of'],
  'charge-line': ['of'],
  'heat-charged': ['of', 'other'],
  'heat-begun': ['of'],
  'heat-added': ['of'],
  'ladle-tapped': ['of', 'other'],
  'metal-moved': ['of', 'other', 'via'],
  'metal-spilled': ['of'],
  'topped-up': ['other'],
  poured: ['other'],
}

/** Charges are read with the lots in them, heats with their charges. */
function* readersOf({ book, things }: Known, no: number): Iterable<number> {
  const kind = things.kind(no)
  if (kind !== 'lot' && kind !== 'charge') return
  const what = kind === 'lot' ? 'charge-line' : 'heat-charged'
  for (const { fact } of book.other(no, what)) yield fact.of
}

const past = new WeakMap<Seen, Ms[]>()

/** The first moment from some moment on at which metal was lost sight of; undefined where none was. */
export function lostSightFrom(view: Seen, since: Ms): Ms | undefined {
  const { melt, castings, asOf } = view
  const moments =
    asOf === NOW ? melt.lostSight.moments() : kept(past, view, () => [...lostMoments(view)])
  const from = since - CLOCKS
  let first = Number.POSITIVE_INFINITY
  for (const at of moments) if (at >= from && at < first) first = at
  for (const { reported, at } of castings.pours())
    if (!reported && at >= from && at < first) first = at
  return first === Number.POSITIVE_INFINITY ? undefined : first - CLOCKS
}

function* lostMoments(view: Seen): Iterable<Ms> {
  for (const no of view.melt.told()) {
    const at = lostAt(view, no)
    if (at !== undefined) yield at
  }
}

function lostAt(view: Known, no: number): Ms | undefined {
  switch (view.things.kind(no)) {
    case 'ladle':
      return fillingLostAt(view, no)
    case 'charge':
      return chargeLostAt(view, no)
    case 'heat':
      return heatLostAt(view, no)
    default:
      return undefined
  }
}

/** Filled and not poured, or poured and never filled. */
function fillingLostAt({ book, asOf }: Known, ladle: number): Ms | undefined {
  const ins = [...book.of(ladle, 'ladle-tapped', asOf), ...book.of(ladle, 'metal-moved', asOf)]
  const poured = book.other(ladle, 'poured', asOf)
  if (ins.length === 0 && poured.length === 0) return undefined
  if (ins.length === 0) return Math.min(...poured.map(({ fact }) => fact.from ?? fact.at))
  let left = ins.reduce((sum, { fact }) => sum + fact.amount, 0)
  const least = STAYS * left
  for (const { fact } of poured) left -= fact.amount ?? left
  for (const { fact } of book.other(ladle, 'metal-moved', asOf)) left -= fact.amount
  for (const { fact } of book.of(ladle, 'metal-spilled', asOf)) left -= fact.amount
  for (const { fact } of book.other(ladle, 'topped-up', asOf)) left -= fact.amount ?? left
  return left > least ? ins[0]!.fact.at : undefined
}

/** Weighed and in no heat, or of returns of which nobody said what was thrown in. */
function chargeLostAt(view: Known, charge: number): Ms | undefined {
  const { book, things, asOf } = view
  const lines = book.of(charge, 'charge-line', asOf)
  const melted = book.other(charge, 'heat-charged', asOf).length > 0
  return lines.find(
    ({ fact }) => !melted || (things.kind(fact.other) === 'lot' && !isExplained(view, fact.other)),
  )?.fact.at
}

/** Of a charge nobody weighed, or of none at all. */
function heatLostAt({ book, asOf }: Known, heat: number): Ms | undefined {
  const charged = book.of(heat, 'heat-charged', asOf)
  const moved = book.via(heat, 'metal-moved', asOf)
  const told = charged.length > 0 || moved.length > 0
  if (told && charged.every(({ fact }) => book.of(fact.other, 'charge-line', asOf).length > 0))
    return undefined
  const begun = [
    ...book.of(heat, 'heat-begun', asOf),
    ...charged,
    ...book.of(heat, 'heat-added', asOf),
    ...book.other(heat, 'ladle-tapped', asOf),
  ]
  return begun.length > 0 ? Math.min(...begun.map(({ fact }) => fact.at)) : undefined
}

function isExplained({ book, asOf }: Known, lot: number): boolean {
  return EXPLAINS.some((what) => book.of(lot, what, asOf).length > 0)
}

const EXPLAINS = ['lot-received', 'returned-from', 'metal-moved'] as const
