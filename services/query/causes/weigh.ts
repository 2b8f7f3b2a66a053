// Everything recorded of the castings looked at, weighed as what may explain their defects.
import type { View } from '../../metal/followed.ts'
import { compareTexts } from '../../metal/things.ts'
import type { Clusters } from '../../stats/causes/clusters.ts'
import { type Explained, explain } from '../../stats/causes/explain.ts'
import { isAlike } from './alike.ts'
import type { LookedAt } from './looked-at.ts'
import { pouredFactors } from './poured-factors.ts'
import { type Recorded, rounded } from './recorded.ts'
import { stepFactors } from './step-factors.ts'

/** Castings share their luck within hours, shifts and days. Unit: hours. */
const STRETCHES = [2, 8, 24]
const HOURS = 3_600_000

export interface Weighed {
  /** What the factors of `found` stand for, by their number. */
  recorded: readonly Recorded[]
  /** What all castings looked at have alike: it is not weighed. */
  alike: readonly Recorded[]
  found: Explained
}

/** Some castings must be defective, and not all. */
export function weigh(view: View, plant: string, looked: LookedAt): Weighed {
  const all = [
    ...inOrder(pouredFactors(view, looked.units)),
    ...looked.steps.flatMap((step, s) => inOrder(stepFactors(view, plant, step, s + 1))),
  ]
  const alike = all.filter((one) => isAlike(looked, one))
  const recorded = all.filter((one) => !alike.includes(one))
  const factors = recorded.map(({ factor }) => factor)
  const makeups = looked.inspected.makeups.map((one) => ({ ...one, part: one.part.map(rounded) }))
  const inspected = { ...looked.inspected, makeups }
  return { recorded, alike, found: explain(inspected, factors, clustersOf(looked, recorded)) }
}

/** By name, since lots come in the order of their numbers, and of equals the first is told first. */
function inOrder(recorded: Recorded[]): Recorded[] {
  return recorded.sort((a, b) => compareTexts(a.factor.name, b.factor.name))
}

/** Castings of one batch, and those of one stretch of time, share their luck. */
function clustersOf({ rows }: LookedAt, recorded: readonly Recorded[]): Clusters[] {
  const batches = recorded.flatMap(({ factor }): Clusters[] =>
    factor.form === 'levels' && factor.kind === 'batch'
      ? [{ of: factor.of, codes: factor.codes, groups: factor.levels.length }]
      : [],
  )
  const pouring = recorded.find(({ factor }) => factor.form === 'measure' && factor.kind === 'time')
  const times = [
    { of: 'row' as const, values: Float64Array.from(rows, ({ at }) => at) },
    ...(pouring?.factor.form === 'measure' ? [pouring.factor] : []),
  ]
  return [
    ...batches,
    ...times.flatMap(({ of, values }) =>
      STRETCHES.map((hours): Clusters => {
        const first = values
          .filter((at) => !Number.isNaN(at))
          .reduce((least, at) => Math.min(least, at), Number.POSITIVE_INFINITY)
        const codes = Int32Array.from(values, (at) =>
          Number.isNaN(at) ? -1 : Math.floor((at - first) / (hours * HOURS)),
        )
        const groups = codes.reduce((a, b) => Math.max(a, b), -1) + 1
        return { of, codes, groups }
      }),
    ),
  ]
}
