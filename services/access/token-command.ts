// npm run token -- FOLDER                     makes a pair of keys in FOLDER, unless one is there
// npm run token -- FOLDER --role ROLE …       prints a token signed with it
import { parseArgs } from 'node:util'
import { settings } from '../settings.ts'
import { signerIn } from './own-tokens.ts'
import { isRole, REPORTING, ROLES, type Role } from './who.ts'

const USAGE = `npm run token -- FOLDER
npm run token -- FOLDER --subject NAME --plant PLANT --role ROLE [--role …] [--station NAME …] [--hours 24]`

/** What to print. Throws one sentence about what cannot be. */
export async function runToken(words: readonly string[]): Promise<string> {
  const { values, positionals } = parseArgs({
    args: [...words],
    allowPositionals: true,
    options: {
      subject: { type: 'string' },
      plant: { type: 'string', default: settings.plant },
      role: { type: 'string', multiple: true, default: [] },
      station: { type: 'string', multiple: true, default: [] },
      hours: { type: 'string', default: String(settings.tokens.hours) },
    },
  })
  const [folder, ...more] = positionals
  if (folder === undefined || more.length > 0) throw new Error(USAGE)
  const { subject, plant, station } = values
  const roles = values.role.map(roleCalled)
  const unknown = station.find((name) => !REPORTING.some((known) => known === name))
  if (unknown !== undefined)
    throw new Error(`There is no station ${unknown}. Name some of ${REPORTING.join(', ')}.`)
  const hours = Number(values.hours)
  if (!(hours >= 1 && hours <= 8_760)) throw new Error('--hours must lie from 1 to 8760.')
  const signer = await signerIn(folder)
  if (roles.length === 0)
    return `HEAT_TO_PAN_KEY=${signer.publicFile} lets in whoever has a token signed here.`
  if (!subject) throw new Error('Say whose token it is: --subject NAME')
  const { audience } = settings.tokens
  return signer.sign({ ...{ subject, roles, plant, audience, hours }, stations: station })
}

function roleCalled(word: string): Role {
  if (isRole(word)) return word
  throw new Error(`There is no role ${word}. Name some of ${ROLES.join(', ')}.`)
}

if (import.meta.main) {
  try {
    console.log(await runToken(process.argv.slice(2)))
  } catch (error) {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 2
  }
}
