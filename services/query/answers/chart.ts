// Is it steady? Control charts of what was measured.
import type { Chart } from '../../stats/charts/chart.ts'
import { meanOf, neighbourSpread } from '../../stats/charts/chart.ts'
import { MOST_RANGED } from '../../stats/charts/constants.ts'
import { movingAverage, sumsChart } from '../../stats/charts/memory.ts'
import { signalsOf } from '../../stats/charts/rules.ts'
import {
  individuals,
  meansByDeviation,
  meansByRange,
  type WithSpread,
} from '../../stats/charts/variables.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { answerId } from './answer-id.ts'
import {
  figure,
  type MeasureOf,
  quantityWords,
  type Reading,
  type Series,
  seriesOf,
  tooLittle,
  unitName,
} from './series.ts'

export interface ChartArgs {
  of: MeasureOf
  form: Form
  points: number
  asOf?: number | null
}

type Form =
  | 'INDIVIDUALS'
  | 'MEANS_BY_RANGE'
  | 'MEANS_BY_DEVIATION'
  | 'MOVING_AVERAGE'
  | 'CUMULATIVE_SUM'

const LEAST_POINTS = 2
const MOST_POINTS = 1000

/** What is drawn: one entry a point in every list. */
interface Drawn {
  at: number[]
  thing: number[]
  level: Chart
  spread?: Chart
  below?: Float64Array
  /** Run rules hold for points that do not depend on each other. */
  runs: boolean
}

export async function chart(context: Context, args: ChartArgs): Promise<object> {
  if (args.points < LEAST_POINTS || args.points > MOST_POINTS)
    throw refusal('BAD_USER_INPUT', `points may be ${LEAST_POINTS} to ${MOST_POINTS}.`)
  const snapshot = await context.snapshot()
  const { view, asOf } = snapshot.at(args.asOf ?? undefined)
  const series = seriesOf({ view, asOf }, context.plant, args.of)
  const completeness = await completenessOf(context, view, asOf, {
    on: () => false,
    begins: args.of.window.from,
    named: [],
  })
  const drawn = draw(series.readings, args.form, args.points)
  if (typeof drawn === 'string') return tooLittle(series, args.of, completeness, drawn)
  const signals = signalsOf(drawn.level, drawn.runs)
  const name = (no: number) => view.things.name(no)
  return {
    __typename: 'Chart',
    id: answerId({
      question: 'chart',
      args: { of: args.of, form: args.form, points: args.points },
      asOf,
    }),
    question: `Is ${quantityWords(args.of)}${args.of.machine ? ` at ${args.of.machine}` : ''} steady?`,
    sentence: sentenceOf(quantityWords(args.of), series, drawn, signals),
    asOf,
    completeness,
    cautions: [STEADY_IS_NOT_GOOD],
    form: args.form,
    unit: series.unit,
    beyondMethod: series.beyondMethod,
    at: drawn.at,
    thing: drawn.thing.map(name),
    ...columns(drawn.level),
    spread: drawn.spread ? columns(drawn.spread) : null,
    below: drawn.below ? [...drawn.below] : null,
    signals: signals.map(({ point, rule }) => ({ point, ...rule })),
  }
}

export const STEADY_IS_NOT_GOOD = {
  code: 'steady-is-not-good',
  sentence:
    'Limits of a chart say what is usual, not what is allowed: a steady process may still be out of its limits for the product.',
}

/** The newest points in the form asked for; a sentence when there are too few. */
function draw(readings: readonly Reading[], form: Form, points: number): Drawn | string {
  if (form === 'MEANS_BY_RANGE' || form === 'MEANS_BY_DEVIATION')
    return drawGroups(readings, form, points)
  const shown = readings.slice(-points)
  if (shown.length < LEAST_POINTS) return 'A chart needs two readings at least.'
  const values = shown.map(({ value }) => value)
  const at = shown.map((reading) => reading.at)
  const thing = shown.map((reading) => reading.thing)
  if (form === 'INDIVIDUALS') return { at, thing, ...individuals(values), runs: true }
  const centre = meanOf(values)
  const sigma = neighbourSpread(values)
  if (form === 'MOVING_AVERAGE')
    return { at, thing, level: movingAverage(values, { centre, sigma }), runs: false }
  return { at, thing, ...sumsChart(values, centre, sigma), runs: false }
}

function drawGroups(readings: readonly Reading[], form: Form, points: number): Drawn | string {
  const byThing = new Map<number, Reading[]>()
  for (const reading of readings) {
    const group = byThing.get(reading.thing)
    if (group) group.push(reading)
    else byThing.set(reading.thing, [reading])
  }
  const groups = [...byThing.values()].filter((group) => group.length >= 2).slice(-points)
  if (groups.length < LEAST_POINTS)
    return 'A chart of means needs two things with two readings each at least: ask for INDIVIDUALS.'
  const values = groups.map((group) => group.map(({ value }) => value))
  const [at, thing] = [groups.map((group) => group[0]!.at), groups.map((group) => group[0]!.thing)]
  const size = values[0]!.length
  if (form === 'MEANS_BY_DEVIATION') return { at, thing, ...meansByDeviation(values), runs: true }
  if (size > MOST_RANGED || values.some((group) => group.length !== size))
    return `A chart by range needs groups of one size, ${MOST_RANGED} at most: ask for MEANS_BY_DEVIATION.`
  return { at, thing, ...meansByRange(values), runs: true }
}

function columns(chart: Chart | WithSpread['spread']) {
  return {
    value: [...chart.value],
    centre: [...chart.centre],
    lowerLimit: [...chart.lower],
    upperLimit: [...chart.upper],
  }
}

function sentenceOf(
  quantity: string,
  { unit, beyondMethod }: Series,
  { level }: Drawn,
  signals: readonly { point: number }[],
): string {
  const last = level.value.length - 1
  const spread = level.sigma[last]!
  const say = (value: number) => figure(value, spread)
  const broken = new Set(signals.map(({ point }) => point)).size
  const left =
    beyondMethod === 0
      ? ''
      : ` ${grouped(beyondMethod)} readings beyond the range of their method are left out.`
  return (
    `${grouped(last + 1)} points of ${quantity}, in ${unitName(unit)}: ${say(level.centre[last]!)} in the middle, ` +
    `limits ${say(level.lower[last]!)} to ${say(level.upper[last]!)}; ` +
    `${broken === 0 ? 'none breaks a rule.' : `${grouped(broken)} break a rule.`}${left}`
  )
}
