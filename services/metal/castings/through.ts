// What went through a machine, and what may have without a report that says so.
import type { Ms } from '../../events/fact.ts'
import type { Floor } from './floor.ts'
import type { Handling } from './handling.ts'
import { placeOf, slotsPast } from './past-steps.ts'

/** Whether a handling was done on a machine or line. */
export function ranOn(
  { machine, line }: { machine?: string; line?: string },
  name: string,
): boolean {
  return machine === name || line === name
}

/** Slots of the castings ledger. */
export interface Through {
  surely: number[]
  /**
   * Of handlings at its steps that name no machine, and of loads that went on to a later step, or were packed,
   * with none of its own between.
   */
  perhaps: number[]
}

/** In a stretch of time, until not included; undefined where no handling was ever on a machine of that name. */
export function throughMachine(
  floor: Floor,
  machine: string,
  from: Ms,
  until: Ms,
): Through | undefined {
  const places = new Set<number>()
  const surely: number[] = []
  const unnamed: Handling[] = []
  for (const load of floor.flow.loads.values()) {
    for (const one of load.handlings) {
      const { report } = one
      if (!report) continue
      const isThen = one.from < until && report.at >= from
      if (ranOn(report, machine)) {
        places.add(placeOf(one.step))
        if (isThen) surely.push(...slotsIn(one))
      } else if (isThen && report.machine === undefined && report.line === undefined)
        unnamed.push(one)
    }
  }
  if (places.size === 0) return undefined
  const atItsSteps = unnamed.filter(({ step }) => places.has(placeOf(step)))
  const perhaps = [...atItsSteps.flatMap(slotsIn), ...slotsPast(floor, { places, from, until })]
  return { surely, perhaps }
}

function slotsIn({ stocks }: Handling): number[] {
  return stocks.flatMap(({ held }) => held.map(({ slot }) => slot))
}
