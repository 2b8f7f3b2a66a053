// Everything that bears a mark: a mark is a label and no key.
import { inForceAmong, placeText } from '../../store/read-in-force.ts'
import { readMarkedAny } from '../../store/read-near.ts'
import type { Context } from '../context.ts'
import { type Found, find } from './name.ts'
import { NOW } from './thing.ts'

/** Packs read of one look. */
const MOST_PACKS = 2000

/** Packs that bear one of some marks, by mark as it is compared, with the marks as printed. */
export async function packsByMark(context: Context, marks: readonly string[], asOf = NOW) {
  const { pool } = context.store
  const rows = await readMarkedAny(pool, context.plant, marks, MOST_PACKS)
  const holding = await inForceAmong(pool, rows, asOf)
  const byMark = new Map<string, Map<number, string[]>>()
  for (const row of rows) {
    if (!holding.has(placeText(row))) continue
    const packs = byMark.get(row.key) ?? new Map<number, string[]>()
    byMark.set(row.key, packs)
    const borne = packs.get(row.pack) ?? []
    if (!borne.includes(row.mark)) packs.set(row.pack, [...borne, row.mark])
  }
  return byMark
}

/** All that bear a mark that can be read in full; else what `find` says of it. */
export async function findMarked(
  context: Context,
  mark: string,
  asOf: number,
): Promise<Found | number[]> {
  const found = await find(context, { mark }, asOf)
  if (found.found !== 'several' || mark.includes('?')) return found
  const packs = [...(await packsByMark(context, [mark], asOf)).values()].flatMap((by) => [
    ...by.keys(),
  ])
  // Of so many some may not have been read: who misses some of them must not be told that all are meant.
  if (packs.length >= MOST_PACKS) return found
  return [...new Set([...packs, ...found.candidates.map(({ no }) => no)])]
}
