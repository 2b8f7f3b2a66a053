// Everything that bears a mark: a mark is a label and no key.
import type { Context } from '../context.ts'
import { type Found, find } from './name.ts'

/** All that bear a mark that can be read in full; else what `find` says of it. */
export async function findMarked(
  context: Context,
  mark: string,
  asOf: number,
): Promise<Found | number[]> {
  const found = await find(context, { mark }, asOf)
  if (found.found !== 'several' || mark.includes('?')) return found
  const { marks } = await context.snapshot()
  const packs = marks.packs(context.plant, mark, asOf).keys()
  return [...new Set([...packs, ...found.candidates.map(({ no }) => no)])]
}
