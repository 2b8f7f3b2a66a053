// npm run score -- --seed 7                       one invented foundry, answered and held against its truth
//   npm run score -- --seeds 1000..1049 --days 3  fifty of them
//   npm run score -- --seed 7 --faults missing,swapped
//   npm run score -- causes --seeds 1..20         causes hidden in a light foundry, and looked for
import { parseArgs } from 'node:util'
import { MISHAPS, type Mishap } from '../fault.ts'
import { scoreCauses } from './causes.ts'
import { figuresOf } from './figures.ts'
import { scoreOf } from './score-of.ts'
import { seedsOf } from './seeds.ts'
import type { Sheet } from './sheet.ts'

const [first, ...rest] = process.argv.slice(2)
if (first === 'causes') scoreCauses(rest)
else scoreReach(process.argv.slice(2))

function scoreReach(args: string[]): void {
  const { values } = parseArgs({
    args,
    options: {
      seed: { type: 'string' },
      seeds: { type: 'string' },
      days: { type: 'string', default: '3' },
      faults: { type: 'string', default: '' },
    },
  })

  const seeds = seedsOf(values.seeds ?? values.seed ?? '1')
  const days = Number(values.days)
  const faults = values.faults.split(',').filter(Boolean)
  const unknown = faults.filter((name) => !MISHAPS.includes(name as Mishap))
  if (!seeds || !Number.isInteger(days) || days < 1) {
    console.error('Give whole numbers: --seed 7 or --seeds 1000..1049, and --days 3, at least 1.')
    process.exitCode = 1
    return
  }
  if (unknown.length > 0) {
    console.error(`There is no fault ${unknown.join(', ')}: give some of ${MISHAPS.join(',')}.`)
    process.exitCode = 1
    return
  }
  const sheets: Sheet[] = []
  for (const seed of seeds) {
    sheets.push(scoreOf({ seed, days, mishaps: faults as Mishap[] }))
    if (process.stderr.isTTY) process.stderr.write(`\r\u001b[K${sheets.length} of ${seeds.length}`)
  }
  const asked = { seeds: `${seeds[0]}..${seeds.at(-1)}`, days, faults }
  console.log(JSON.stringify({ ...asked, ...figuresOf(sheets) }, undefined, 2))
}
