// Are the reports in? How far each station has been heard, and how long it has been silent.
import { STATIONS } from '../../events/fact.ts'
import { kept } from '../../metal/kept.ts'
import type { Heard } from '../../store/read-heard.ts'
import type { Context } from '../context.ts'
import { heardIn } from './record-state.ts'

/** The GraphQL object StationHeard. */
export interface StationHeard {
  station: string
  heardUpTo: string | null
  waiting: number
  lateMinutes: number
}

/** The eight stations in plant order; decisions of quality come when they come. */
export async function stationsHeard(context: Context): Promise<StationHeard[]> {
  const heard = await heardIn(context)
  const waiting = await context.waiting()
  return STATIONS.filter((station) => station !== 'quality').map((station) => {
    const own = heard.find(({ topic }) => topic.endsWith(station))
    const behind = [...waiting].find(([topic]) => topic.endsWith(station))
    return {
      station: station.toUpperCase(),
      heardUpTo: own?.time ?? null,
      waiting: behind?.[1] ?? 0,
      lateMinutes: own ? lateMs(own, context.now()) / 60_000 : 0,
    }
  })
}

/**
 * Silence since the last report was taken in, beyond what is usual between two. Not since it happened:
 * a station that catches up is not silent.
 */
function lateMs(heard: Heard, now: number): number {
  const usual = kept(usualGaps, heard, () => usualGap(heard.moments))
  return Math.max(0, now - heard.recorded - usual)
}

/** Of what was heard up to one state of the record. */
const usualGaps = new WeakMap<Heard, number>()

/** All but one in a hundred gaps between reports are no longer than this. Unit: ms. */
export function usualGap(moments: readonly number[]): number {
  const gaps = moments.slice(1).map((moment, i) => moment - moments[i]!)
  gaps.sort((a, b) => a - b)
  return gaps[Math.ceil(0.99 * gaps.length) - 1] ?? 0
}
