// What it costs to say what explains defects: processor time for light foundries of which 500 things are recorded.
// npm run prove takes it in; by itself: node services/run.mjs test/bench/causes.bench.ts
import { type Random, randomOf } from '../../services/plant/random.ts'
import { type Run, runOf } from '../../services/plant/score/hidden/planted.ts'
import { drifting } from '../../services/plant/score/hidden/properties.ts'
import { explain } from '../../services/stats/causes/explain.ts'
import { groupsOf } from '../../services/stats/causes/report.ts'
import type { Factor } from '../../services/stats/causes/table.ts'
import { type Finding, report } from './finding.ts'

const FACTORS = 500
/** Of what is recorded besides, so much is missing. */
const MISSING = 0.05
const SIZES = [
  { castings: 50_000, seeds: [1, 2, 3, 4, 5, 6, 7], mostMs: 1_000 },
  { castings: 500_000, seeds: [1], mostMs: 10_000 },
]

export function measureCauses(): Finding[] {
  return SIZES.map(({ castings, seeds, mostMs }) => {
    const ms = seeds.map((seed) => processorMs(withMore(runOf(seed, castings, true), seed)))
    const median = ms.sort((a, b) => a - b)[ms.length >> 1]!
    return {
      what: `what explains defects, ${castings} castings with ${FACTORS} factors, processor time of the thread that answers`,
      measured: `${Math.round(median)} ms in the middle, ${Math.round(ms.at(-1)!)} at most, of ${ms.length}`,
      limit: `at most ${mostMs} ms wanted`,
      pass: median <= mostMs,
    }
  })
}

/** Sensors that drift, of units and of rows in turn, until there are enough factors. */
function withMore(run: Run, seed: number): Run {
  const random = randomOf(seed, 'more sensors')
  const units = run.inspected.makeups[0]!.unit.reduce((a, b) => Math.max(a, b), -1) + 1
  const more = Array.from({ length: FACTORS - run.factors.length }, (_, i): Factor => {
    const of = i % 2 === 0 ? 0 : 'row'
    const count = of === 0 ? units : run.inspected.castings.length
    return {
      form: 'measure',
      kind: 'measure',
      name: `sensor ${i}`,
      of,
      values: seen(random, count),
    }
  })
  return { ...run, factors: [...run.factors, ...more] }
}

function seen(random: Random, count: number): Float64Array {
  return drifting(random, count, 0.9).map((value) => (random.chance(MISSING) ? Number.NaN : value))
}

/** Of the thread that answers, which is how long an answer takes where it has a core to itself. */
function processorMs({ inspected, factors, clusters }: Run): number {
  const began = process.threadCpuUsage()
  groupsOf(explain(inspected, factors, clusters))
  const { user, system } = process.threadCpuUsage(began)
  return (user + system) / 1000
}

if (import.meta.main) report(measureCauses())
