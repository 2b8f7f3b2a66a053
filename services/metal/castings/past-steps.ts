// Castings that went past a step of which no report tells: on to a later one, or into a pack.
import { type Ms, STEPS } from '../../events/fact.ts'
import { contentsOf } from './contents.ts'
import type { Floor } from './floor.ts'
import type { Handling } from './handling.ts'

/** Steps asked about, and while: what was between its last report and its next one in that time. */
export interface Past {
  /** Of these steps, see placeOf. */
  places: ReadonlySet<number>
  from: Ms
  until: Ms
}

/** Slots of the castings ledger that may have been at one of the steps all the same. */
export function slotsPast(floor: Floor, past: Past): number[] {
  return [...handledPast(floor, past), ...packedPast(floor, past)]
}

/** Of a step in the order of the work. */
export function placeOf(step: string): number {
  return (STEPS as readonly string[]).indexOf(step)
}

/** What came in at a later step. */
function* handledPast(floor: Floor, past: Past): Iterable<number> {
  for (const load of floor.flow.loads.keys()) {
    const handlings = reportedOf(floor, load)
    for (const [i, one] of handlings.entries()) {
      if (one.from < past.from) continue
      // A load may have changed its name at the very step that is missing.
      const before = i > 0 ? [handlings[i - 1]!] : lastOf(floor, one.sources, one.from)
      if (!skips(before, placeOf(one.step), past)) continue
      for (const { held } of one.stocks) for (const { slot } of held) yield slot
    }
  }
}

/** What was packed from loads whose last step came before one that is asked about. */
function* packedPast(floor: Floor, past: Past): Iterable<number> {
  for (const { no, sources, when } of floor.flow.packings.values()) {
    if (when.at < past.from) continue
    if (!skips(lastOf(floor, sources, when.at), STEPS.length, past)) continue
    for (const { slot } of contentsOf(floor, no)) yield slot
  }
}

function skips(before: readonly Handling[], next: number, { places, until }: Past): boolean {
  return before.some(({ step, report }) => {
    const last = placeOf(step)
    return report!.at < until && [...places].some((its) => last < its && its < next)
  })
}

/** Of the loads that castings came from, the last handling that had ended. */
function lastOf(floor: Floor, sources: readonly { other: number }[], at: Ms): Handling[] {
  return sources.flatMap(
    ({ other }) => reportedOf(floor, other).findLast(({ report }) => report!.at <= at) ?? [],
  )
}

function reportedOf({ flow }: Floor, load: number): Handling[] {
  return (flow.loads.get(load)?.handlings ?? []).filter(({ report }) => report)
}
