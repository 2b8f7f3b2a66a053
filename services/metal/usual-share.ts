// How much of an addition metal usually has: the measure by which a dose of it is told. A share of all metal
// tells nothing there: what is a tenth of a percent when all is well is never a percent of anything.
import { binsOf, materialOf, type View } from './followed.ts'
import { kept } from './kept.ts'

export interface UsualShare {
  /** Of metal that was given the material, the middle by mass; 0 where none was. Unit: share 0 to 1. */
  share: number
  /** It was given to so many pours. */
  pours: number
}

/** What the material of some received lots is called, each once, with its plant in front. */
export function materialsOf(view: View, lots: readonly number[]): Set<string> {
  const received = lots.flatMap((lot) => view.book.of(lot, 'lot-received', view.asOf))
  return new Set(received.map((receipt) => materialOf(view.things, receipt)))
}

const usual = new WeakMap<View, Map<string, UsualShare>>()

/** Over all pours that a report says were given the material, at any step up to them. */
export function usualShare(view: View, material: string): UsualShare {
  const known = kept(usual, view, () => new Map<string, UsualShare>())
  return kept(known, material, () => usualOf(view, material))
}

function usualOf(view: View, material: string): UsualShare {
  const { book, melt, castings, asOf } = view
  const lots = [...book.all('lot-received', asOf)]
    .filter((receipt) => materialOf(view.things, receipt) === material)
    .map(({ fact }) => fact.of)
  // A bin that many lots were put into is gone through once.
  const sources = new Set(lots.flatMap((lot) => [lot, ...binsOf(view, lot).map(({ no }) => no)]))
  const given = new Set([...sources].flatMap((source) => [...poursGiven(view, source)]))
  const slots = lots.flatMap((lot) => [melt.ownOf(lot), melt.slotOf(lot)])
  const spanOf = melt.ledger.follow(
    slots.filter((slot) => slot !== undefined),
    { asOf },
  )
  const found: { share: number; grams: number }[] = []
  for (const { no, grams } of castings.pours()) {
    if (!given.has(no)) continue
    const parts = melt.pourParts(no, asOf)
    const molds = parts.reduce((sum, part) => sum + part.molds, 0)
    const share = parts.reduce((sum, part) => sum + part.molds * spanOf(part.slot).best, 0) / molds
    if (share > 0) found.push({ share, grams })
  }
  return { share: middle(found), pours: found.length }
}

/** Pours whose metal was given some of a lot or bin. */
function* poursGiven(view: View, source: number): Iterable<number> {
  const { book, asOf } = view
  for (const { fact } of book.other(source, 'pour-added', asOf)) yield fact.of
  for (const { fact } of book.other(source, 'ladle-added', asOf)) yield* ofLadle(view, fact.of)
  for (const { fact } of book.other(source, 'heat-added', asOf)) yield* ofHeat(view, fact.of)
  for (const { fact } of book.other(source, 'charge-line', asOf))
    for (const heat of book.other(fact.of, 'heat-charged', asOf)) yield* ofHeat(view, heat.fact.of)
}

function* ofHeat(view: View, heat: number): Iterable<number> {
  for (const { fact } of view.book.other(heat, 'ladle-tapped', view.asOf))
    yield* ofLadle(view, fact.of)
}

function* ofLadle({ book, asOf }: View, ladle: number): Iterable<number> {
  for (const { fact } of book.other(ladle, 'poured', asOf)) yield fact.of
}

function middle(found: { share: number; grams: number }[]): number {
  const all = found.reduce((sum, { grams }) => sum + grams, 0)
  let below = 0
  for (const { share, grams } of found.sort((a, b) => a.share - b.share)) {
    below += grams
    if (2 * below >= all) return share
  }
  return 0
}
