// Prints what the foundry reports, one event a line, in the order it reaches the doors:
//   npm run plant -- --seed 1 --days 2 > reports.ndjson
import { once } from 'node:events'
import { parseArgs } from 'node:util'
import { simulate } from './plant.ts'

const { values } = parseArgs({
  options: {
    seed: { type: 'string', default: '1' },
    days: { type: 'string', default: '2' },
    start: { type: 'string' },
  },
})
const [seed, days] = [Number(values.seed), Number(values.days)]
if (!Number.isInteger(seed) || !Number.isInteger(days) || days < 1) {
  console.error('Give whole numbers: --seed 1 --days 2, with days at least 1.')
  process.exit(1)
}
const { reports } = simulate({ seed, days, ...(values.start ? { start: values.start } : {}) })
const LINES = 500
for (let from = 0; from < reports.length; from += LINES) {
  const lines = reports
    .slice(from, from + LINES)
    .map(({ body }) => (typeof body === 'string' ? body : JSON.stringify(body)) + '\n')
  if (!process.stdout.write(lines.join(''))) await once(process.stdout, 'drain')
}
