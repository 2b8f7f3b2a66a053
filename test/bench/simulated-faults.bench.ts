// Simulated shifts by the thousand, each full of faults, and what happens when a guard is taken out.
// npm run prove takes it in; by itself: node test/bench/simulated-faults.bench.ts [seeds]
import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { text } from 'node:stream/consumers'
import { SIMULATED, TESTED } from '../simulated/mutations.ts'
import { simulateWithout, testWithout, type Without } from '../simulated/without-guards.ts'
import { type Finding, report } from './finding.ts'

const SEEDS = 10_000
const SEEDS_WITHOUT = 400
const MOST_TOLD = 3

/** In a process of its own: where its modules were loaded before, they stand on the true disk. */
export async function measureSimulatedFaults(): Promise<Finding[]> {
  const run = spawn(process.execPath, [import.meta.filename, String(SEEDS), 'as JSON'], {
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  const ended = once(run, 'close')
  const told = await text(run.stdout)
  await ended
  return JSON.parse(told)
}

async function measureHere(seeds: number): Promise<Finding[]> {
  const { simulate } = await import('../simulated/simulate.ts')
  const wrong: string[] = []
  let records = 0
  for (let seed = 1; seed <= seeds; seed++) {
    const outcome = await simulate(seed)
    records += outcome.records
    if (outcome.violations.length > 0) wrong.push(`seed ${seed}: ${outcome.violations[0]}`)
  }
  const which = wrong.slice(0, MOST_TOLD).join('; ')
  return [
    {
      what: `simulated shifts full of faults, of ${seeds.toLocaleString('en')} with ${records.toLocaleString('en')} records, in which something was lost, doubled or not caught up`,
      measured: `${wrong.length}${which && ` (${which})`}`,
      limit: '0',
      pass: wrong.length === 0,
    },
    ...(await measureGuards()),
  ]
}

async function measureGuards(): Promise<Finding[]> {
  const outcomes: Without[] = []
  for (const number of SIMULATED.keys()) outcomes.push(await simulateWithout(number, SEEDS_WITHOUT))
  for (const number of TESTED.keys()) outcomes.push(await testWithout(number))
  const missed = outcomes.filter(({ noticed }) => !noticed).map(({ guard }) => guard)
  return [
    {
      what: `guards of ${outcomes.length} that can be taken out and nothing notices`,
      measured: [missed.length, ...missed].join('; '),
      limit: '0',
      pass: missed.length === 0,
    },
  ]
}

if (import.meta.main) {
  const [seeds = SEEDS, how] = process.argv.slice(2)
  const findings = await measureHere(Number(seeds))
  if (how) console.log(JSON.stringify(findings))
  else report(findings)
  process.exit()
}
