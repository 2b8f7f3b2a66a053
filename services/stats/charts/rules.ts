// When points are out of the ordinary: beyond a limit, or in a run that chance seldom makes.
import type { Chart } from './chart.ts'

export interface Rule {
  /** Stable word for it. */
  code: string
  /** What the points did. */
  sentence: string
  source: string
}

interface RunRule extends Rule {
  /** So many of the last `of` points, counting this one, hold; all on one side unless said. */
  least: number
  of: number
  holds: (z: number) => boolean
  /** Points of both sides count together. */
  bothSides?: boolean
}

const WESTERN =
  'Western Electric, Statistical Quality Control Handbook (1956), as listed in NIST/SEMATECH e-Handbook 6.3.2'
const NELSON = 'L. S. Nelson, Journal of Quality Technology 16 (1984) 237 (from memory)'

const RUNS: readonly RunRule[] = [
  {
    code: 'beyond-limit',
    sentence: 'One point beyond three standard deviations.',
    source: WESTERN,
    least: 1,
    of: 1,
    holds: (z) => z > 3,
  },
  {
    code: 'two-of-three',
    sentence: 'Two of three points beyond two standard deviations on one side.',
    source: WESTERN,
    least: 2,
    of: 3,
    holds: (z) => z > 2,
  },
  {
    code: 'four-of-five',
    sentence: 'Four of five points beyond one standard deviation on one side.',
    source: WESTERN,
    least: 4,
    of: 5,
    holds: (z) => z > 1,
  },
  {
    code: 'eight-on-one-side',
    sentence: 'Eight points in a row on one side of the centre.',
    source: WESTERN,
    least: 8,
    of: 8,
    holds: (z) => z > 0,
  },
  {
    code: 'fifteen-near-centre',
    sentence: 'Fifteen points in a row within one standard deviation.',
    source: NELSON,
    least: 15,
    of: 15,
    holds: (z) => Math.abs(z) < 1,
    bothSides: true,
  },
  {
    code: 'eight-off-centre',
    sentence: 'Eight points in a row beyond one standard deviation, on either side.',
    source: NELSON,
    least: 8,
    of: 8,
    holds: (z) => Math.abs(z) > 1,
    bothSides: true,
  },
]

const SIX_RISING: Rule = {
  code: 'six-in-one-direction',
  sentence: 'Six points in a row rising or falling.',
  source: NELSON,
}
const FOURTEEN_ALTERNATING: Rule = {
  code: 'fourteen-alternating',
  sentence: 'Fourteen points in a row alternating up and down.',
  source: NELSON,
}

export interface Signal {
  /** Place of the point at which the rule came true, from 0. */
  point: number
  rule: Rule
}

/** Points at which a rule comes true, in the order of the points. `runs` false: the limits alone. */
export function signalsOf(chart: Chart, runs = true): Signal[] {
  const z = chart.value.map((v, i) => (v - chart.centre[i]!) / chart.sigma[i]!)
  const signals: Signal[] = []
  for (const rule of runs ? RUNS : RUNS.slice(0, 1)) {
    for (let i = 0; i < z.length; i++)
      if (comesTrue(rule, z, i, 1) || (!rule.bothSides && comesTrue(rule, z, i, -1)))
        signals.push({ point: i, rule: published(rule) })
  }
  if (runs) signals.push(...directions(chart.value))
  return signals.sort((a, b) => a.point - b.point)
}

function comesTrue(rule: RunRule, z: ArrayLike<number>, point: number, side: 1 | -1): boolean {
  if (!rule.holds(side * z[point]!)) return false
  let held = 0
  for (let i = Math.max(0, point - rule.of + 1); i <= point; i++)
    if (rule.holds(side * z[i]!)) held++
  return held >= rule.least
}

/** Six points rise by five steps; fourteen alternate by twelve turns. */
function directions(values: ArrayLike<number>): Signal[] {
  const signals: Signal[] = []
  let [rising, turning, before] = [0, 0, 0]
  for (let i = 1; i < values.length; i++) {
    const step = Math.sign(values[i]! - values[i - 1]!)
    rising = step !== 0 && step === before ? rising + 1 : step === 0 ? 0 : 1
    turning = step !== 0 && step === -before ? turning + 1 : 0
    before = step
    if (rising >= 5) signals.push({ point: i, rule: SIX_RISING })
    if (turning >= 12) signals.push({ point: i, rule: FOURTEEN_ALTERNATING })
  }
  return signals
}

function published({ code, sentence, source }: Rule): Rule {
  return { code, sentence, source }
}
