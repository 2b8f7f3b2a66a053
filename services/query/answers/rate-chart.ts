// Does a defect rate keep still? Control charts of castings looked at.
import type { Chart } from '../../stats/charts/chart.ts'
import {
  overdispersedShareChart,
  rateChart as perCasting,
  shareChart,
} from '../../stats/charts/counts.ts'
import { movingAverage, sumsChart } from '../../stats/charts/memory.ts'
import { signalsOf } from '../../stats/charts/rules.ts'
import { type DefectQuestion, lookedAt, notLookedAt, SURVIVORS } from '../causes/looked-at.ts'
import type { Context } from '../context.ts'
import { grouped } from '../estimate.ts'
import { assertShifts } from '../rates/plant-time.ts'
import { type PointPer, type Points, pointsOf } from '../rates/points.ts'
import { completenessOf } from '../record/completeness.ts'
import { refusal } from '../refusal.ts'
import { contractWord } from '../things/amounts.ts'
import { answerId } from './answer-id.ts'
import { STEADY_IS_NOT_GOOD } from './chart.ts'
import { nothingIn } from './rates.ts'
import { figure } from './series.ts'

export interface RateChartArgs {
  about: DefectQuestion
  per: PointPer
  form: Form
  shifts: string[]
  points: number
  asOf?: number | null
}

type Form = 'SHARE' | 'SHARE_WIDENED' | 'PER_CASTING' | 'MOVING_AVERAGE' | 'CUMULATIVE_SUM'

const LEAST_POINTS = 2
const MOST_POINTS = 1000

export async function rateChart(context: Context, args: RateChartArgs): Promise<object> {
  const { about, per, form, shifts, points } = args
  if (!(about.window.from < about.window.to))
    throw refusal('BAD_USER_INPUT', 'about.window.from must lie before about.window.to.')
  if (points < LEAST_POINTS || points > MOST_POINTS)
    throw refusal('BAD_USER_INPUT', `points may be ${LEAST_POINTS} to ${MOST_POINTS}.`)
  assertShifts(shifts)
  const { view, asOf } = (await context.snapshot()).at(args.asOf ?? undefined)
  const looked = lookedAt(view, context.plant, about)
  const things = new Set(looked.rows.flatMap((row) => row.things))
  const completeness = await completenessOf(context, view, asOf, {
    on: (no) => things.has(no),
    begins: about.window.from,
    named: [],
  })
  const nothing = (sentence: string) => nothingIn(looked, completeness, sentence)
  if (looked.rows.length === 0) return nothing(notLookedAt(view, about))
  const all = pointsOf(view, about, looked, { per, shifts })
  const shown = newest(all, points)
  const drawn = draw(shown, form)
  if (typeof drawn === 'string') return nothing(drawn)
  const { level, below, runs } = drawn
  // Heats and days share the castings of mixed loads: one high point makes its neighbours high.
  const signals = signalsOf(level, runs && per === 'INSPECTION')
  const broken = new Set(signals.map(({ point }) => point)).size
  const inSpreads = form === 'MOVING_AVERAGE' || form === 'CUMULATIVE_SUM'
  return {
    __typename: 'RateChart',
    id: answerId({
      question: 'rateChart',
      args: { about, per, form, shifts, points },
      asOf,
    }),
    question: `Does the rate of defects found ${about.stage} keep still, by ${contractWord(per)}?`,
    sentence:
      `${completeness.verdict === 'WHOLE' ? '' : 'So far: '}${grouped(shown.at.length)} points, ` +
      `${wordsOf(level, inSpreads)}; ${broken === 0 ? 'none breaks a rule.' : `${grouped(broken)} break a rule.`}`,
    ...{ asOf, completeness, form, per },
    cautions: [STEADY_IS_NOT_GOOD, SURVIVORS],
    inSpreads,
    ...{ at: shown.at, name: shown.name, lookedAt: shown.castings },
    found: form === 'PER_CASTING' ? shown.defects : shown.defective,
    value: [...level.value],
    centre: [...level.centre],
    lowerLimit: [...level.lower],
    upperLimit: [...level.upper],
    below: below ? [...below] : null,
    signals: signals.map(({ point, rule }) => ({ point, ...rule })),
  }
}

function newest(points: Points, most: number): Points {
  const last = <T>(list: T[]) => list.slice(-most)
  const { at, name, castings, defective, defects } = points
  return {
    at: last(at),
    name: last(name),
    castings: last(castings),
    defective: last(defective),
    defects: last(defects),
  }
}

interface Drawn {
  level: Chart
  below?: Float64Array
  /** Run rules hold for points that do not depend on each other. */
  runs: boolean
}

/** A sentence where there is too little to draw. */
function draw({ castings, defective, defects }: Points, form: Form): Drawn | string {
  if (castings.length < LEAST_POINTS)
    return `All castings are in ${castings.length === 1 ? 'one point' : 'no point'}: a chart needs two at least, of shorter stretches or a longer window.`
  const [all, bad] = [sum(castings), sum(defective)]
  if (form === 'PER_CASTING') {
    if (sum(defects) <= 0) return NONE_BAD
    return { level: perCasting({ found: defects, of: castings }), runs: true }
  }
  if (bad <= 0) return NONE_BAD
  if (bad >= all) return 'All castings looked at are bad: there is nothing to tell points apart by.'
  if (form === 'SHARE') return { level: shareChart({ found: defective, of: castings }), runs: true }
  const level = overdispersedShareChart({ found: defective, of: castings })
  const share = bad / all
  const between = level.sigma[0]! / Math.sqrt((share * (1 - share)) / castings[0]!)
  if (!(between > ROUNDING))
    return 'The points do not differ, so their spread is not known: ask for SHARE.'
  if (form === 'SHARE_WIDENED') return { level, runs: true }
  const z = level.value.map((value, i) => (value - level.centre[i]!) / level.sigma[i]!)
  return form === 'MOVING_AVERAGE'
    ? { level: movingAverage(z, { centre: 0, sigma: 1 }), runs: false }
    : { ...sumsChart(z, 0, 1), runs: false }
}

/** Points that differ by less of what chance makes of them do not differ. */
const ROUNDING = 1e-6

const NONE_BAD = 'None of the castings looked at is bad: there is nothing to tell points apart by.'

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0)
}

function wordsOf(level: Chart, inSpreads: boolean): string {
  const last = level.value.length - 1
  const spread = level.sigma[last]!
  const say = (value: number) =>
    inSpreads ? figure(value, spread) : `${figure(100 * value, 100 * spread)} in 100`
  return `${say(level.centre[last]!)} in the middle, limits of the last ${say(level.lower[last]!)} to ${say(level.upper[last]!)}${inSpreads ? ', in standard deviations' : ''}`
}
