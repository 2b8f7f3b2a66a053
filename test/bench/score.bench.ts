// Fifty dirty foundries nobody looked at while building, answered and held against their truth.
import type { Mishap } from '../../services/plant/fault.ts'
import { type Figure, figuresOf } from '../../services/plant/score/figures.ts'
import { scoreOf } from '../../services/plant/score/score-of.ts'
import { SHARES } from '../../services/plant/score/sheet.ts'
import type { Finding } from './finding.ts'

const FIRST = 1000
const FOUNDRIES = 50
const DAYS = 3

export function measureScore(): Finding[] {
  const figures = (mishaps: readonly Mishap[]) =>
    figuresOf(
      Array.from({ length: FOUNDRIES }, (_, i) =>
        scoreOf({ seed: FIRST + i, days: DAYS, mishaps }),
      ),
    )
  const whole = figures([])
  const thin = figures(['missing'])
  const atOne = whole.byShare[0.01]!
  return [
    ...SHARES.map((share) => {
      const { clear, truly, falseClear } = whole.byShare[share]!
      return finding(
        `Castings truly over ${share} called clear, everything reported`,
        `${clear} of ${truly}, ${percent(falseClear)}`,
        'none wanted',
        clear === 0,
      )
    }),
    ...SHARES.map((share) => {
      const { falseClear } = thin.byShare[share]!
      return finding(
        `Castings truly over ${share} called clear, 2 % of reports missing`,
        percent(falseClear),
        'at most 0.5 % wanted',
        (falseClear.value ?? 1) <= 0.005,
      )
    }),
    finding(
      'Castings expected beyond the truly affected, at 1 % share: plain reachability against us',
      `${told(atOne.plainReach.timesOurExcess)} times as many`,
      'at least 10 times wanted',
      (atOne.plainReach.timesOurExcess.value ?? 0) >= 10,
    ),
    finding(
      'The same of one heat before and after, which also misses',
      `${told(atOne.oneHeatBeforeAndAfter.timesOurExcess)} times as many, ${percent(atOne.oneHeatBeforeAndAfter.missed)} missed`,
      '',
      true,
    ),
    finding(
      'Chances against what came of them, mean distance',
      told(whole.chances.error),
      'at most 0.02 wanted',
      (whole.chances.error.value ?? 1) <= 0.02,
    ),
    finding(
      'Shares inside their 95 % interval, each lot counted once',
      percent(whole.shares.inside),
      '93 to 97 % wanted',
      Math.abs((whole.shares.inside.value ?? 0) - 0.95) <= 0.02,
    ),
  ]
}

function finding(what: string, measured: string, limit: string, pass: boolean): Finding {
  return { what: `${what}, ${FOUNDRIES} plants of ${DAYS} days`, measured, limit, pass }
}

function told({ value, low, high }: Figure): string {
  return `${value} (${low} to ${high})`
}

function percent({ value, low, high }: Figure): string {
  const shown = (part: number | null) => (part === null ? '?' : (100 * part).toPrecision(3))
  return `${shown(value)} % (${shown(low)} to ${shown(high)})`
}
