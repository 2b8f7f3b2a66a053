// npm run demo    an invented foundry works two days through its doors; then the house stays open
import { join } from 'node:path'
import { buildDesk } from '../desk/make/build.ts'
import { type House, openHouse, stopOnSignal } from '../house.ts'
import { settingsWith } from '../settings.ts'
import { PLANT } from './names.ts'
import { DEMO, workDemo } from './work.ts'

/** One for each who asks questions. The part behind # stays in the browser. */
function linksTo({ address, tokens }: House): string {
  return (['quality', 'analyst', 'service', 'admin'] as const)
    .map((role) => `  ${role.padEnd(8)} ${address}/#${tokens.get(role)}`)
    .join('\n')
}

const began = performance.now()
const tell = (line: string) => console.log(line)
const show = (text: string) => process.stderr.isTTY && process.stderr.write(`\r\u001b[K${text}`)
const settings = settingsWith({ HEAT_TO_PAN_DATA: join('data', 'demo'), HEAT_TO_PAN_PLANT: PLANT })

let house: House | undefined
try {
  tell('Opening the house …')
  await buildDesk()
  house = await openHouse({ settings, demo: true, tell })
  stopOnSignal(house, tell)
  tell(`${DEMO.days} days of an invented foundry go through its doors …`)
  const { outcomes, truth } = await workDemo(house, {
    ...DEMO,
    progress: (sent, of) => show(`${sent} of ${of} reports`),
  })
  show('')
  tell(
    `${outcomes.accepted} accepted, ${outcomes.duplicate} said before, ${outcomes.refused} refused by the doors.`,
  )
  const seconds = ((performance.now() - began) / 1000).toFixed(1)
  tell(`
Ready after ${seconds} s. Open one of these, which let you in for a day, and press one of the questions:

${linksTo(house)}

Or ask from a terminal:

  curl -s ${house.address}/graphql -H @${join(settings.folder, 'tokens', 'quality')} -H 'content-type: application/json' \\
    -d '{"query":"{ reach(from: {things: [\\"${truth.cause?.lot ?? ''}\\"]}, affected: {share: 0.01}) { ... on Reach { sentence } } }"}'

Ctrl-C stops the house; what it took in is kept in ${settings.folder}.`)
} catch (error) {
  console.error(error instanceof Error ? error.message : error)
  process.exitCode = 1
  await house?.[Symbol.asyncDispose]()
}
