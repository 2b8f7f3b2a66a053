// A furnace as a level over time, with the part of the bath that is followed.
import type { Ms } from '../events/fact.ts'
import type { Followed, View } from './followed.ts'
import type { Level } from './ledger/watch.ts'

export type BathChange = 'CHARGED' | 'ADDED' | 'TAPPED' | 'MOVED' | 'MEASURED'

export interface BathLevel {
  at: Ms
  change: BathChange
  /** What went in or came out; absent for a measurement or what nobody reported. */
  thing: number | undefined
  /** The heat the bath then counts as; absent between heats. */
  heat: number | undefined
  grams: number
  share: number
  low: number
  high: number
}

/** Every change of a furnace's bath from one moment to another. Without anything to follow, the share is 0. */
export function bathLevels(
  view: View,
  furnace: number,
  followed: Followed,
  from: Ms,
  until: Ms,
): BathLevel[] {
  const { melt, asOf } = view
  const vessel = melt.vesselOf(furnace)
  if (vessel === undefined) return []
  const seeds = followed.seeds.map((slot): [number, number] => [slot, 1])
  const how = { asOf, force: seeds, flood: followed.flood }
  const best = melt.ledger.levels(vessel, seeds, how)
  const low = melt.ledger.levels(vessel, seeds, { ...how, lean: 'low' })
  const high = melt.ledger.levels(vessel, seeds, { ...how, lean: 'high' })
  const names = melt.names()
  const levels: BathLevel[] = []
  let [cell, at] = [-1, 0]
  for (const [i, level] of best.entries()) {
    // A cell has one moment; its taps have their own, and what stands between them is no earlier.
    if (level.cell !== cell) [cell, at] = [level.cell, level.at]
    at = Math.max(at, names.moment(level.slot) ?? at)
    if (at < from || at >= until || level.op === 'keep' || level.op === 'unknown') continue
    const named = names.slot(level.slot)
    levels.push({
      at,
      change: changeOf(view, level, named),
      thing: named,
      heat: names.heat(level.cell),
      grams: level.mass,
      share: level.share,
      low: Math.min(low[i]!.share, level.share),
      high: Math.max(high[i]!.share, level.share),
    })
  }
  return levels
}

function changeOf({ things }: View, { op, slot }: Level, named: number | undefined): BathChange {
  if (op === 'set') return 'MEASURED'
  const kind = named === undefined ? undefined : things.kind(named)
  if (op === 'out') return kind === 'ladle' || kind === 'pour' ? 'TAPPED' : 'MOVED'
  if (kind === 'charge' || slot === 0) return 'CHARGED'
  return kind === 'lot' || kind === 'bin' ? 'ADDED' : 'MOVED'
}

/** What a heat found in its furnace, and the heat that left it; undefined where it found nothing. */
export function heelOf(view: View, heat: number): { before: number; grams: number } | undefined {
  const { book, melt, asOf } = view
  const furnace = book.of(heat, 'heat-begun', asOf)[0]?.fact.via
  const vessel = furnace === undefined ? undefined : melt.vesselOf(furnace)
  if (vessel === undefined) return undefined
  const cells = new Set(melt.cellsOf(heat))
  const names = melt.names()
  let last: { before: number; grams: number } | undefined
  for (const level of melt.ledger.levels(vessel, [], { asOf })) {
    if (cells.has(level.cell)) {
      if (level.op === 'in') return last
      if (level.op === 'set' && last) last = { ...last, grams: level.mass }
      continue
    }
    const before = names.heat(level.cell)
    if (level.mass <= 0) last = undefined
    else if (before !== undefined) last = { before, grams: level.mass }
    else if (last) last = { ...last, grams: level.mass }
  }
  return undefined
}
