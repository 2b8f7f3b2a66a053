// Does the fit of samples to charges find a lot written down for another? On melt shops whose truth is
// known, with seeds that nothing was tuned on.
import { wilson } from '../../services/stats/interval.ts'
import { scoreOf } from '../metal/chemistry/fit-score.ts'
import type { Finding } from './finding.ts'

const SHOPS = 50
const HEATS = 400
const FIRST_SEED = 7001

export function measureFit(): Finding[] {
  const days = Array.from({ length: SHOPS }, (_, i) => ({
    seed: FIRST_SEED + i,
    heats: HEATS,
    swapped: 0.04,
  }))
  const score = scoreOf(days)
  const { clean, falseAlarms, measurable, found, lineFirst, lineAmongThree, power } = score
  const curve = power
    .map(({ swaps, found: told }, size) => (swaps > 0 ? `${size}: ${told}/${swaps}` : ''))
    .filter((text) => text !== '')
    .join(', ')
  const of = `${SHOPS} shops of ${HEATS} heats`
  return [
    {
      what: `measurable swaps told apart, ${of}`,
      measured: parted(found, measurable),
      limit: 'at least 90 %',
      pass: found >= 0.9 * measurable,
    },
    {
      what: `false alarms, ${of}`,
      measured: `${falseAlarms} in ${clean} heats, ${(1000 * wilson(falseAlarms, clean).low).toFixed(2)} to ${(1000 * wilson(falseAlarms, clean).high).toFixed(2)} in 1,000`,
      limit: 'at most 1 in 1,000',
      pass: falseAlarms <= clean / 1000,
    },
    {
      what: 'of swaps told apart, the right line first and among the first three',
      measured: `${parted(lineFirst, found)}; ${parted(lineAmongThree, found)}`,
      limit: '',
      pass: true,
    },
    {
      what: 'told apart by standard deviations a swap moves the sample',
      measured: curve,
      limit: '',
      pass: true,
    },
  ]
}

function parted(some: number, all: number): string {
  const { low, high } = wilson(some, all)
  const percent = (part: number) => (100 * part).toFixed(1)
  return `${some} of ${all}, ${percent(some / all)} % (${percent(low)} to ${percent(high)})`
}
