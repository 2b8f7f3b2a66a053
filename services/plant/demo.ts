// npm run demo    an invented foundry works two days through its doors; then the house stays open
import { join } from 'node:path'
import { openHouse, stopOnSignal } from '../house.ts'
import { settingsWith } from '../settings.ts'
import { PLANT } from './names.ts'
import { simulate } from './plant.ts'

const SEED = 1
const DAYS = 2
const BATCH = 250

const began = performance.now()
const tell = (line: string) => console.log(line)
const settings = settingsWith({ HEAT_TO_PAN_DATA: join('data', 'demo'), HEAT_TO_PAN_PLANT: PLANT })

try {
  tell('Opening the house …')
  const house = await openHouse({ settings, demo: true, tell })
  stopOnSignal(house, tell)
  const { reports, truth } = simulate({ seed: SEED, days: DAYS })
  tell(`${DAYS} days of an invented foundry: ${reports.length} reports go through its doors …`)
  const outcomes = { accepted: 0, duplicate: 0, refused: 0 }
  for (let i = 0; i < reports.length; i += BATCH) {
    const batch = reports
      .slice(i, i + BATCH)
      .map(({ body }) => Buffer.from(typeof body === 'string' ? body : JSON.stringify(body)))
    for (const { outcome } of await house.door.take(batch, { decisions: true })) outcomes[outcome]++
    if (process.stderr.isTTY)
      process.stderr.write(`\r\u001b[K${i + batch.length} of ${reports.length}`)
  }
  if (process.stderr.isTTY) process.stderr.write('\r\u001b[K')
  tell(
    `${outcomes.accepted} accepted, ${outcomes.duplicate} said before, ${outcomes.refused} refused by the doors.`,
  )
  await house.settled()
  const seconds = ((performance.now() - began) / 1000).toFixed(1)
  tell(`
Ready after ${seconds} s. Open ${house.address}/ and press one of the three questions, or ask from a terminal:

  curl -s ${house.address}/graphql -H 'content-type: application/json' \\
    -d '{"query":"{ reach(from: {things: [\\"${truth.cause?.lot ?? ''}\\"]}, affected: {share: 0.01}) { ... on Reach { sentence } } }"}'

Ctrl-C stops the house; what it took in is kept in ${settings.folder}.`)
} catch (error) {
  console.error(error instanceof Error ? error.message : error)
  process.exitCode = 1
}
