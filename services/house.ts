// A process of the house: some of its services on one port, or all of them. Opened in the order in which
// reports pass through them, closed in the other.

import { join } from 'node:path'
import { type Access, openAccess } from './access/access.ts'
import { type Audit, openAudit } from './access/audit.ts'
import { isLoopback } from './access/keys.ts'
import type { Role, Who } from './access/who.ts'
import { STATIONS, type Station } from './events/fact.ts'
import type { Context } from './query/context.ts'
import type { Snapshot } from './query/record/snapshot.ts'
import { listen } from './query/server/http.ts'
import type { Doors } from './serve/doors.ts'
import type { Genealogy } from './serve/genealogy.ts'
import type { Query } from './serve/query.ts'
import type { Ground, Service } from './serve/service.ts'
import type { Settings } from './settings.ts'
import type { Door } from './stations/door.ts'
import type { Store } from './store/connect.ts'
import { type Journal, journalOver } from './watch/journal.ts'
import { Measures } from './watch/measures.ts'
import { measureProcess } from './watch/process.ts'
import { requestListener } from './watch/requests.ts'
import { stateListener } from './watch/state.ts'

/** What one process does. */
export interface Services {
  /** Whose reports it takes in. */
  doors: readonly Station[]
  genealogy: boolean
  query: boolean
}

export interface ProcessParts {
  settings: Settings
  services: Services
  journal: Journal
  /** Show the schema, and a page to ask from. */
  demo?: boolean
}

/** What is open of it; what the process does not do is absent. */
interface Opened {
  access?: Access
  audit?: Audit
  doors?: Doors
  store?: Store
  genealogy?: Genealogy
  query?: Query
}

/** A process at work. */
export interface Process extends Opened, AsyncDisposable {
  /** Such as http://127.0.0.1:4000. */
  address: string
}

export interface HouseParts {
  settings: Settings
  /** Show the schema, and a page to ask from. */
  demo: boolean
  tell(line: string): void
}

/** All of it in one process. */
export interface House extends AsyncDisposable {
  /** Such as http://127.0.0.1:4000. */
  address: string
  door: Door
  store: Store
  /** Tokens the house has issued itself, by role. */
  tokens: ReadonlyMap<Role, string>
  readonly snapshot: Snapshot
  /** A context as a request of theirs gets it. */
  context(who: Who): Context
  /** Resolves when all that the doors took in before the call can be asked for. */
  settled(): Promise<void>
}

/** Decisions have no door of their own: they are made where answers are given. */
const REPORTING = STATIONS.filter((station) => station !== 'quality')

export const EVERYTHING: Services = { doors: STATIONS, genealogy: true, query: true }

/** Opens everything on the data folder; whoever holds it already is named in the error. */
export async function openHouse({ settings, demo, tell }: HouseParts): Promise<House> {
  const terminal = { service: 'house', terminal: true, write: tell, now: Date.now }
  const journal = journalOver(terminal)
  const open = await openProcess({ settings, services: EVERYTHING, journal, demo })
  const { address, access, doors, store, genealogy, query } = open as Required<Process>
  return {
    address,
    door: doors.door,
    store,
    tokens: access.own ?? new Map(),
    get snapshot() {
      return query.snapshot
    },
    context: (who) => query.context(who),
    async settled() {
      await doors.forwarding?.settled()
      await genealogy.settled()
      await query.refresh()
    },
    [Symbol.asyncDispose]: () => open[Symbol.asyncDispose](),
  }
}

/** Opens some of the services. Throws one sentence when a setting is missing for them. */
export async function openProcess(parts: ProcessParts): Promise<Process> {
  assertCanBeApart(parts)
  assertStaysHome(parts)
  const { settings, journal } = parts
  const ground: Ground = { settings, journal, measures: new Measures() }
  measureProcess(ground.measures)
  const open = new AsyncDisposableStack()
  try {
    const opened = await openServices(parts, ground, open)
    const address = await answer(ground, opened, open)
    opened.doors?.announce(address)
    const stopping = open.move()
    return { ...opened, address, [Symbol.asyncDispose]: () => stopping.disposeAsync() }
  } catch (error) {
    await open.disposeAsync()
    throw error
  }
}

/** Each brings its own code: a door has no use for a database. */
async function openServices(
  { services, settings, demo = false }: ProcessParts,
  ground: Ground,
  open: AsyncDisposableStack,
): Promise<Opened> {
  const opened: Opened = {}
  const letIn = async () => {
    if (opened.access && opened.audit) return { access: opened.access, audit: opened.audit }
    const failed = (why: unknown) => ground.journal.alarm(`There are no new tokens: ${why}`)
    opened.access = await openAccess(settings, failed)
    open.defer(opened.access.stop)
    const audit = await openAudit({
      ...{ folder: join(settings.folder, 'audit'), service: nameOf(services), now: Date.now },
      tell: (sentence) => ground.journal.note(sentence),
      failed: (error) => ground.journal.alarm(`The audit cannot be written: ${error}`),
    })
    open.defer(() => audit.close())
    opened.audit = audit
    return { access: opened.access, audit }
  }
  if (services.doors.length > 0) {
    const { openDoors } = await import('./serve/doors.ts')
    const doors = await openDoors({
      ...{ ...ground, ...(await letIn()), stations: services.doors },
    })
    open.defer(() => doors.stop())
    opened.doors = doors
  }
  if (!services.genealogy && !services.query) return opened
  const store = await openStore(settings)
  open.defer(() => store.close())
  opened.store = store
  // Without brokers the disk of the doors is the log.
  const log = settings.kafka ? undefined : opened.doors?.log
  const reading = { ...ground, store, ...(log && { log }) }
  if (services.genealogy) {
    const { openGenealogy } = await import('./serve/genealogy.ts')
    const genealogy = await openGenealogy(reading)
    open.defer(() => genealogy.stop())
    opened.genealogy = genealogy
  }
  if (services.query) {
    const { openQuery } = await import('./serve/query.ts')
    const letInBy = await letIn()
    const decisions = await openDecisions(opened.doors, { ...ground, ...letInBy })
    open.defer(() => decisions.stop())
    const atDoors = settings.kafka && {
      waiting: () => decisions.waiting(),
      all: REPORTING.every((station) => services.doors.includes(station)),
    }
    const query = await openQuery({
      ...{ ...reading, ...letInBy, decisions, demo, ...(atDoors && { atDoors }) },
    })
    open.defer(() => query.stop())
    opened.query = query
  }
  return opened
}

async function openDecisions(
  doors: Doors | undefined,
  ground: Ground & { access: Access; audit: Audit },
) {
  const { decisionsThrough, ownDecisions } = await import('./serve/decisions.ts')
  return doors ? decisionsThrough(doors) : ownDecisions(ground)
}

async function openStore(settings: Settings): Promise<Store> {
  const { connect } = await import('./store/connect.ts')
  const { recordPlace } = await import('./store/place.ts')
  return connect(recordPlace(settings))
}

/** Starts to listen; answers where. */
async function answer(
  { settings, journal, measures }: Ground,
  { doors, genealogy, query }: Opened,
  open: AsyncDisposableStack,
): Promise<string> {
  const services: Service[] = [doors, genealogy, query].filter((each) => each !== undefined)
  const listeners = [
    stateListener(services, measures),
    ...services.flatMap((each) => each.listeners),
  ]
  const failed = (error: unknown) => journal.alarm(`Error of a request: ${error}`)
  const seen = requestListener(journal, measures)
  const listening = await listen(settings, listeners, failed, seen)
  open.defer(() => {
    for (const each of services) each.hangUp?.()
    return listening.stop()
  })
  return listening.address
}

/** Names the file that the process writes its audit into. */
function nameOf({ doors, query }: Services): string {
  if (doors.length > 1) return query ? 'house' : 'doors'
  return [...doors, ...(query ? ['query'] : [])].join('-')
}

/** The demo shows its schema and hands out tokens: not to others. */
function assertStaysHome({ settings: { host }, demo }: ProcessParts): void {
  if (demo && !isLoopback(host))
    throw new Error(`The demo listens on this machine only, and HEAT_TO_PAN_HOST is ${host}.`)
}

function assertCanBeApart({ settings, services }: ProcessParts): void {
  const whole = services.doors.length > 0 && services.genealogy && services.query
  if (whole) return
  if (!settings.kafka)
    throw new Error(
      'Without brokers everything is one process: start it with "npm start" alone, or set HEAT_TO_PAN_BROKERS.',
    )
  if ((services.genealogy || services.query) && !settings.databaseUrl)
    throw new Error(
      'Genealogy and query as processes of their own meet in PostgreSQL: set HEAT_TO_PAN_DATABASE.',
    )
}

/** Stops on the first signal, within so many seconds; a second one ends the process at once. */
export function stopOnSignal(
  open: AsyncDisposable,
  tell: (line: string) => void,
  seconds = 20,
): void {
  let asked = false
  for (const signal of ['SIGINT', 'SIGTERM'] as const) {
    process.on(signal, () => {
      if (asked) process.exit(1)
      asked = true
      tell('Stopping: what is under way is finished first.')
      setTimeout(() => {
        tell(
          `It is not finished after ${seconds} s and is broken off; nothing acknowledged is lost.`,
        )
        process.exit(1)
      }, seconds * 1_000).unref()
      void open[Symbol.asyncDispose]().then(
        () => process.exit(0),
        (error) => {
          tell(`Stopping failed: ${error}`)
          process.exit(1)
        },
      )
    })
  }
}
