// Nothing written is known: what differs from it in one sign? Signs that look alike are likelier mixed up;
// which do is common practice, no source.

import type { Context } from '../context.ts'
import { markKey } from '../record/mark-book.ts'
import { variants } from '../things/name.ts'
import { NOW } from '../things/thing.ts'
import { type Fitting, type Found, kindsFor } from './known-names.ts'
import type { Piece } from './words-in-text.ts'

/** Pieces of a long text that are looked at so. */
const MOST_LOOKED_AT = 5
const LEAST_SIGNS = 4
const ALIKE = ['B8', 'O0', 'Q0', 'D0', 'I1', 'L1', 'S5', 'Z2', 'G6', 'T7', 'UV', 'MN']
/** How much likelier signs that look alike are mixed up than others; a guess. */
const TIMES_LIKELIER = 8

/** What looks like pieces of a text, of those that look like a number. */
export async function misread(context: Context, pieces: readonly Piece[]): Promise<Found[]> {
  const found: Found[] = []
  const likely = pieces.filter(
    ({ written, words }) =>
      words === 1 &&
      /\d/.test(written) &&
      markKey(written).length >= LEAST_SIGNS &&
      !/^\d+$/.test(written),
  )
  for (const piece of likely.slice(0, MOST_LOOKED_AT)) {
    const fits = await fitsNear(context, piece.written)
    if (fits.length > 0) found.push({ piece, fits, guessed: true })
  }
  return found
}

async function fitsNear(context: Context, written: string): Promise<Fitting[]> {
  const snapshot = await context.snapshot()
  const { view } = snapshot.at()
  const kinds = kindsFor(context.who)
  const near = variants(written.toUpperCase())
  const byId = new Map<string, Omit<Fitting, 'fit'> & { weight: number }>()
  for (const spelled of near)
    for (const kind of kinds) {
      const no = view.things.numberOf(context.plant, `${kind}:${spelled}`)
      if (no === undefined) continue
      const id = view.things.name(no)
      byId.set(id, {
        id,
        kind,
        because: becauseOf(written, spelled),
        weight: weightOf(written, spelled),
      })
    }
  for (const known of snapshot.marks.near(context.plant, near))
    for (const [no, [mark = '']] of snapshot.marks.packs(context.plant, known, NOW)) {
      const because = becauseOf(markKey(written), markKey(mark))
      const weight = weightOf(markKey(written), markKey(mark))
      const id = view.things.name(no)
      byId.set(id, { id, kind: view.things.kind(no), because, readAs: mark, weight })
    }
  const all = [...byId.values()]
  const sum = all.reduce((total, { weight }) => total + weight, 0)
  return all
    .sort((a, b) => b.weight - a.weight || (a.id < b.id ? -1 : 1))
    .map(({ weight, ...one }) => ({ ...one, fit: weight / sum }))
}

function mixedUp(written: string, other: string): [string, string] {
  const i = [...other].findIndex((sign, at) => sign !== written.toUpperCase()[at])
  return [written[i]?.toUpperCase() ?? '', other[i] ?? '']
}

function becauseOf(written: string, other: string): string {
  const [read, meant] = mixedUp(written, other)
  return `it has ${meant} where ${read} is written`
}

function weightOf(written: string, other: string): number {
  const pair = mixedUp(written, other)
  return ALIKE.some((two) => pair.every((sign) => two.includes(sign))) ? TIMES_LIKELIER : 1
}
