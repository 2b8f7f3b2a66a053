// How does a measure sit inside its limits?
import { capability as capabilityOf, type Limits } from '../../stats/charts/capability.ts'
import { neighbourSpread } from '../../stats/charts/chart.ts'
import { LEVEL, type Ranged } from '../../stats/interval.ts'
import type { Context } from '../context.ts'
import { type Estimate, grouped } from '../estimate.ts'
import { completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { answerId } from './answer-id.ts'
import { type MeasureOf, seriesOf, tooLittle } from './series.ts'

export interface CapabilityArgs {
  of: MeasureOf
  lowest?: number | null
  highest?: number | null
  asOf?: number | null
}

/** Fewer say next to nothing of a spread. Common practice, no source. */
const LEAST_READINGS = 20

export async function capability(context: Context, args: CapabilityArgs): Promise<object> {
  const limits = limitsOf(args)
  if (args.of.lessPredicted)
    throw refusal('BAD_USER_INPUT', 'Limits hold for what was read: ask without lessPredicted.')
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at(args.asOf ?? undefined)
  const series = seriesOf({ view, asOf }, context.plant, args.of)
  const completeness = await completenessOf(context, view, asOf, {
    on: () => false,
    begins: args.of.window.from,
    named: [],
  })
  const values = series.readings.map(({ value }) => value)
  if (values.length < LEAST_READINGS)
    return tooLittle(series, args.of, completeness, `Capability needs ${LEAST_READINGS} at least.`)
  if (neighbourSpread(values) === 0)
    return tooLittle(
      series,
      args.of,
      completeness,
      'They do not differ, so their spread is not known.',
    )
  const found = capabilityOf(values, limits)
  const { quantity } = args.of
  return {
    __typename: 'Capability',
    id: answerId({ question: 'capability', args: { of: args.of, ...limits }, asOf }),
    question: `How does ${quantity} sit inside its limits?`,
    sentence:
      `${grouped(found.values)} readings of ${quantity}: ${(100 * found.outside.value).toFixed(1)} in 100 lie outside. ` +
      `The nearer limit is ${found.withinNearer.value.toFixed(2)} times three standard deviations of neighbours away, ` +
      `${found.wholeNearer.value.toFixed(2)} times those of all readings.`,
    asOf,
    completeness,
    cautions: [AS_NORMAL],
    values: found.values,
    beyondMethod: series.beyondMethod,
    unit: series.unit,
    withinSpread: found.withinSpread ? ranged(found.withinSpread, 'chi-square') : null,
    withinNearer: ranged(found.withinNearer, 'normal, of the index'),
    wholeSpread: found.wholeSpread ? ranged(found.wholeSpread, 'chi-square') : null,
    wholeNearer: ranged(found.wholeNearer, 'normal, of the index'),
    outside: ranged(found.outside, 'Wilson'),
    outsideIfNormal: found.outsideIfNormal,
  }
}

const AS_NORMAL = {
  code: 'as-if-normal',
  sentence:
    'Indices and their intervals hold for a steady process with a normal spread: look at the chart first.',
}

function limitsOf({ lowest, highest }: CapabilityArgs): Limits {
  if (lowest == null && highest == null)
    throw refusal(
      'BAD_USER_INPUT',
      'Give lowest, highest or both: capability is told against limits.',
    )
  if (lowest != null && highest != null && lowest >= highest)
    throw refusal('BAD_USER_INPUT', 'lowest must lie below highest.')
  return { ...(lowest != null && { lowest }), ...(highest != null && { highest }) }
}

/** The GraphQL object Estimate of a statistic. */
export function ranged({ value, low, high }: Ranged, method: string): Estimate {
  return { value, basis: 'COMPUTED', interval: { low, high, level: LEVEL, method } }
}
