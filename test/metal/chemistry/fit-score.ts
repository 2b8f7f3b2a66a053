// What the fit finds of the swaps that truly happened.
import { rankCauses, sizeOf } from '../../../services/metal/chemistry/fit/causes.ts'
import { fitHeats } from '../../../services/metal/chemistry/fit/filter.ts'
import { type Source, STAYING } from '../../../services/metal/chemistry/fit/steps.ts'
import { chiSquareAbove } from '../../../services/stats/distributions.ts'
import { type Days, meltDays } from './melt-days.ts'

export interface Score {
  /** Heats with nothing wrong, and those of them told apart. */
  clean: number
  falseAlarms: number
  /** Swaps that move their sample by four standard deviations or more, and those told apart. */
  measurable: number
  found: number
  /** Of those found, in how many the right line is the likeliest cause, and among the first three. */
  lineFirst: number
  lineAmongThree: number
  /** By whole standard deviations a swap moves its sample: swaps, and those told apart. */
  power: { swaps: number; found: number }[]
}

const MEASURABLE = 4
const LARGEST = 12
const NEW: Source = { material: 'returns', role: 'returns', from: 0 }

export function scoreOf(days: readonly Days[]): Score {
  const score: Score = {
    clean: 0,
    falseAlarms: 0,
    measurable: 0,
    found: 0,
    lineFirst: 0,
    lineAmongThree: 0,
    power: Array.from({ length: LARGEST + 1 }, () => ({ swaps: 0, found: 0 })),
  }
  for (const one of days) {
    const { steps, sources, swaps } = meltDays(one)
    for (const fitted of fitHeats(steps, (no) => sources.get(no) ?? NEW, chiSquareAbove)) {
      const { toldApart } = fitted
      const swap = swaps.get(fitted.heat)
      if (!swap) {
        score.clean++
        if (toldApart) score.falseAlarms++
        continue
      }
      const none = Object.fromEntries(STAYING.map((symbol) => [symbol, 0]))
      const size = sizeOf(fitted, { ...none, ...swap.shift } as never)
      const bucket = score.power[Math.min(LARGEST, Math.floor(size))]!
      bucket.swaps++
      if (toldApart) bucket.found++
      if (size < MEASURABLE) continue
      score.measurable++
      if (!toldApart) continue
      score.found++
      const causes = rankCauses(fitted)
      if (causes[0]!.of === swap.written) score.lineFirst++
      if (causes.slice(0, 3).some(({ of }) => of === swap.written)) score.lineAmongThree++
    }
  }
  return score
}
