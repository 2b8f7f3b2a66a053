// npm start                     everything in one process
// npm start -- SERVICE…         some of it: receive melt mold pour clean season inspect ship (or doors
//                               for all eight), genealogy, query. Needs brokers and a PostgreSQL.
import { buildDesk } from './desk/make/build.ts'
import { STATIONS, type Station } from './events/fact.ts'
import { EVERYTHING, openProcess, type Services, stopOnSignal } from './house.ts'
import { settings } from './settings.ts'
import { journalOver } from './watch/journal.ts'

/** Decisions have no door of their own: they are made where answers are given. */
const DOORS: readonly Station[] = STATIONS.filter((station) => station !== 'quality')
const NAMES = [...DOORS, 'doors', 'genealogy', 'query']

/** The services by their names; all when none is named. Throws one sentence about a name that is none. */
export function servicesFrom(names: readonly string[]): Services {
  if (names.length === 0) return EVERYTHING
  const wrong = names.find((name) => !NAMES.includes(name))
  if (wrong !== undefined)
    throw new Error(
      `There is no service ${wrong}. Name some of ${NAMES.join(', ')}, or none for all.`,
    )
  const isAsked = (name: string) => names.includes(name)
  return {
    doors: DOORS.filter((station) => isAsked(station) || isAsked('doors')),
    genealogy: isAsked('genealogy'),
    query: isAsked('query'),
  }
}

async function run(names: readonly string[]): Promise<void> {
  const services = servicesFrom(names)
  const journal = journalOver({
    service: names.join('+') || 'house',
    terminal: process.stdout.isTTY === true,
    write: (line) => console.log(line),
    now: Date.now,
  })
  if (services.query) await buildDesk()
  const open = await openProcess({ settings, services, journal })
  stopOnSignal(open, journal.tell, settings.stopSeconds)
  const addresses = [
    ...(services.query ? ['POST /graphql'] : []),
    ...(services.doors.length > 0 ? ['POST /events'] : []),
    ...['GET /health', 'GET /ready', 'GET /metrics'],
  ]
  journal.tell(`It answers at ${open.address}: ${addresses.join(', ')}.`, { address: open.address })
}

if (import.meta.main) {
  try {
    await run(process.argv.slice(2))
  } catch (error) {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 1
  }
}
