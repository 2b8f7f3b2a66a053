// Answers as a service: GraphQL over what is in the database, and how far that is behind the log.
import { setTimeout as pause } from 'node:timers/promises'
import type { Access } from '../access/access.ts'
import type { Audit } from '../access/audit.ts'
import { budgetOf } from '../access/budget.ts'
import type { Who } from '../access/who.ts'
import { describeReport } from '../events/catalog.ts'
import type { Station } from '../events/fact.ts'
import { PROJECTION_VERSION } from '../events/projection-version.ts'
import type { Entry, Log, Place, Span } from '../log/log.ts'
import { LogError } from '../log/log-error.ts'
import { Prompt } from '../log/prompt.ts'
import { topicsOf } from '../log/topics.ts'
import type { Context } from '../query/context.ts'
import { contextOver } from '../query/context-over.ts'
import { fileListener } from '../query/files/files.ts'
import { Current } from '../query/record/current.ts'
import type { Snapshot } from '../query/record/snapshot.ts'
import { makeSchema } from '../query/schema.ts'
import { deskDocuments, deskListener } from '../query/server/desk.ts'
import { assertAskable, byId, documentsIn } from '../query/server/documents.ts'
import { addressOf, type Listener, sendProblem } from '../query/server/http.ts'
import { newsOf, type Positions } from '../query/server/news.ts'
import { pageListener } from '../query/server/page.ts'
import { startQuery } from '../query/server/server.ts'
import { sessionListener } from '../query/server/session.ts'
import type { Database, Store } from '../store/connect.ts'
import { hasLevelled } from '../store/followed-log.ts'
import { readDecisionsFrom } from '../store/read-reports.ts'
import { type AtDoors, DoorsAsked, type DoorsHere } from './at-doors.ts'
import type { Decisions } from './decisions.ts'
import { behind } from './lag.ts'
import { persist, reasonOf } from './persist.ts'
import type { Ground, Service } from './service.ts'

export interface Query extends Service {
  readonly snapshot: Snapshot
  /** A context as a request of theirs gets it. */
  context(who: Who): Context
  refresh(): Promise<unknown>
}

export interface QueryGround extends Ground {
  /** Who is let in. */
  access: Access
  audit: Audit
  store: Store
  /** The log on this disk; absent where brokers hold it. */
  log?: Log
  /** What waits at the doors of this process on its way to the brokers; absent where it has none. */
  atDoors?: DoorsHere
  /** Where decisions and complaints go in. */
  decisions: Decisions
  /** Show the schema, and a page to ask from. */
  demo: boolean
}

/** Of waiting for the record to be level. */
const BETWEEN_LOOKS_MS = 20
/** Nobody asked for so long: then it catches up by itself, so that the next who asks need not wait. */
const IDLE_MS = 5_000
/** In the source of decisions where the plant has no address; no such domain can be. Source: RFC 2606. */
const NO_DOMAIN = 'heat-to-pan.invalid'
/** What one subject may ask for: fifty of the largest requests at once, and then five a second. */
const BUDGET = { most: 1_000_000, perSecond: 100_000 }
/** Between two tries while nothing can be answered. */
const TROUBLED_MS = 500

/** On this disk's log it resolves when questions can be answered; with brokers it tells when it is so. */
export async function openQuery(parts: QueryGround): Promise<Query> {
  const { journal, demo } = parts
  const answering = new Answering(parts)
  if (parts.log) await answering.refresh()
  const failed = (id: string, error: unknown) =>
    journal.alarm(`Error ${id}: ${reasonOf(error)}`, { error_id: id })
  const schema = makeSchema()
  const { documentsFile } = parts.settings
  const given = documentsFile && (await documentsIn(documentsFile))
  if (given) assertAskable(given, schema)
  // What the desk asks was held to the schema by its tests.
  const known = byId({ ...deskDocuments(), ...(given ?? {}) })
  const { whoSends } = parts.access
  const budget = budgetOf({ ...BUDGET, now: Date.now })
  const server = await startQuery({
    ...{ schema, demo, failed },
    ...{ whoSends, noted: parts.audit.note },
    documents: { known, isAll: Boolean(given) },
    budget,
    context: (who) => answering.context(who),
  })
  answering.follow()
  const news = newsOf({
    whoSends,
    positions: async () => (await answering.refresh()).positions,
    decided: (who, since, most) => decidedSince(parts.store.pool, who.plant, since, most),
    failed: (error) => journal.warn(`News could not be read: ${reasonOf(error)}`),
  })
  const desk = deskListener()
  if (!desk) journal.warn('The pages of the desk were not built: npm run desk does that.')
  const pages = [...(desk ? [desk] : []), ...(demo ? [pageListener(schema)] : [])]
  return {
    get snapshot() {
      return answering.snapshot
    },
    context: (who) => answering.context(who),
    refresh: () => answering.refresh(),
    listeners: [
      unready(() => answering.trouble),
      server.listener,
      sessionListener(whoSends),
      news.listener,
      fileListener({
        ...{ schema, whoSends, budget, noted: parts.audit.note },
        context: (who) => answering.context(who),
      }),
      ...pages,
    ],
    troubles: () => (answering.trouble === undefined ? [] : [answering.trouble]),
    notes: () => (answering.note === undefined ? [] : [answering.note]),
    hangUp: news.hangUp,
    async stop() {
      await server.stop()
      await answering.stop()
    },
  }
}

/** Says no for all that would be answered from a record that is not there yet. */
function unready(trouble: () => string | undefined): Listener {
  return (request, response) => {
    const why = trouble()
    const { path } = addressOf(request)
    const answered = ['/graphql', '/news'].includes(path) || path.startsWith('/files/')
    if (why === undefined || !answered) return false
    sendProblem(response, 503, 'NOT_READY', why, { 'retry-after': '5' })
    return true
  }
}

/** What was on its way when it was asked. */
interface Heard extends AtDoors {
  /** Where the log ended. */
  ends: readonly Span[]
}

class Answering {
  /** Why nothing can be answered. */
  trouble: string | undefined = 'The record is being read.'
  /** Why it is not known how much is on its way. */
  note: string | undefined
  readonly #parts: QueryGround
  readonly #current: Current
  readonly #stop = new AbortController()
  #timer: NodeJS.Timeout | undefined
  #following: Promise<unknown> = Promise.resolve()
  #opening: Promise<unknown> = Promise.resolve()
  #log: Log | undefined
  #ends: Prompt<Span[]> | undefined
  /** The snapshot of a record that is known to have been level with its log. */
  #levelled: Snapshot | undefined
  /** Absent where what the doors take in is the log. */
  readonly #doors: DoorsAsked | undefined
  /** Where the log ended when it was last heard. */
  #heard: Span[] = []

  constructor(parts: QueryGround) {
    this.#parts = parts
    this.#current = new Current(parts.store)
    this.#doors = parts.log ? undefined : new DoorsAsked(parts.settings.doors, parts.atDoors)
    this.#measure()
  }

  get snapshot(): Snapshot {
    return this.#current.snapshot
  }

  async refresh(): Promise<Snapshot> {
    const snapshot = await this.#current.refresh()
    if (snapshot.projection !== '' && snapshot.projection !== PROJECTION_VERSION)
      throw new Error('it was made by another version of the event types')
    await this.#assertLevelled(snapshot)
    this.trouble = undefined
    return snapshot
  }

  /** With brokers, a record in the making is not answered from: another one may be in use meanwhile. */
  async #assertLevelled(snapshot: Snapshot): Promise<void> {
    const { log, store } = this.#parts
    if (log || this.#levelled === snapshot) return
    if (!(await hasLevelled(store.pool))) throw new Error('it is still being made from the log')
    this.#levelled = snapshot
  }

  /** Goes on following in the background. */
  follow(): void {
    const { log } = this.#parts
    if (log) this.#hear(log)
    else this.#opening = this.#openBrokers().catch((error) => this.#deaf(error))
    this.#again(0)
  }

  async stop(): Promise<void> {
    this.#stop.abort()
    clearTimeout(this.#timer)
    await this.#following
    await this.#opening
    if (this.#log !== this.#parts.log) await this.#log?.close()
  }

  context(who: Who): Context {
    const { settings, store, decisions } = this.#parts
    // Within one request everything is answered from one state.
    let fresh: Promise<{ snapshot: Snapshot; positions: Snapshot['positions'] }> | undefined
    const refreshed = () => {
      fresh ??= this.refresh().then((snapshot) => ({ snapshot, positions: snapshot.positions }))
      return fresh
    }
    let heard: Promise<Heard> | undefined
    const asked = () => {
      heard ??= this.#askAll()
      return heard
    }
    const left = async () => {
      // What others have read since may be missing from what this request is answered from.
      const { positions } = await refreshed()
      const { waiting, ends } = await asked()
      const all = behind(ends, positions)
      for (const [station, count] of waiting) {
        const topic = (settings.kafka?.topicPrefix ?? '') + station
        all.set(topic, (all.get(topic) ?? 0) + count)
      }
      return all
    }
    return contextOver({
      who,
      plant: settings.plant,
      store,
      snapshot: async () => (await refreshed()).snapshot,
      waiting: left,
      level: async (withinMs) => {
        const until = Date.now() + withinMs
        while (!isNone(await left()) && Date.now() < until) {
          const { waiting, unheard } = await asked()
          if (unheard.length > 0) return
          await pause(BETWEEN_LOOKS_MS)
          fresh = undefined
          // What waits at a door has no place in the log yet that could be waited for.
          if (!isNone(waiting)) heard = undefined
        }
      },
      unheard: async () => (await asked()).unheard,
      address: settings.plantAddress ?? `https://${NO_DOMAIN}/plant/${settings.plant}`,
      decide: (events) => decisions.take(events),
      append: (station, entry) => this.#append(station, entry),
      now: Date.now,
    })
  }

  /** The doors first: what leaves them meanwhile is then counted twice, and never left out. */
  async #askAll(): Promise<Heard> {
    const { waiting, unheard } = (await this.#doors?.ask()) ?? { waiting: new Map(), unheard: [] }
    const spans = await this.#ask()
    if (spans) return { waiting, unheard, ends: spans }
    return { waiting, unheard: ['the log does not answer', ...unheard], ends: this.#heard }
  }

  async #append(station: Station, entry: Entry): Promise<Place> {
    if (!this.#log) throw new LogError('LOG_AWAY', 'No broker has answered yet.')
    const topic = (this.#parts.settings.kafka?.topicPrefix ?? '') + station
    const [place] = await this.#log.append(topic, [entry])
    return place!
  }

  async #ask(): Promise<Span[] | undefined> {
    const spans = await this.#ends?.ask()
    if (spans) this.#heard = spans
    return spans
  }

  #again(afterMs: number): void {
    this.#timer = setTimeout(() => {
      this.#following = this.#catchUp().finally(() => {
        if (!this.#stop.signal.aborted) this.#again(this.trouble ? TROUBLED_MS : IDLE_MS)
      })
    }, afterMs).unref()
  }

  async #catchUp(): Promise<void> {
    const { levelMs } = this.#current
    if (levelMs !== undefined && Date.now() - levelMs < IDLE_MS && !this.trouble) return
    try {
      await this.refresh()
    } catch (error) {
      const why = `The record cannot be read: ${whyOf(error)}.`
      if (this.trouble !== why) this.#parts.journal.warn(why)
      this.trouble = why
    }
  }

  async #openBrokers(): Promise<void> {
    const { openKafkaLog } = await import('../log/kafka/kafka.ts')
    const { settings, journal } = this.#parts
    const { topicPrefix, ...place } = settings.kafka!
    const tell = (line: string) => journal.warn(line)
    const open = () => openKafkaLog({ ...place, topics: topicsOf(topicPrefix), tell })
    const log = await persist(open, this.#stop.signal, (why) => {
      this.note = `How much is on its way is not known: ${why}`
    })
    if (log) this.#hear(log)
  }

  #hear(log: Log): void {
    this.#log = log
    this.#ends = new Prompt(() => log.spans())
    this.note = undefined
  }

  #deaf(error: unknown): void {
    this.note = `How much is on its way is not known: ${reasonOf(error)}`
    this.#parts.journal.alarm(this.note)
  }

  #measure(): void {
    const { measures } = this.#parts
    const ageName = 'heat_to_pan_snapshot_age_seconds'
    measures.gauge(ageName, 'Since answers were last level with the database.', () => {
      const { levelMs } = this.#current
      return levelMs === undefined ? [] : [[{}, (Date.now() - levelMs) / 1_000]]
    })
    const lagName = 'heat_to_pan_snapshot_lag'
    measures.gauge(lagName, 'Records of the log that no answer has yet, by topic.', async () => {
      const spans = await this.#ask()
      if (!spans) return []
      return [...behind(spans, this.snapshot.positions)].map(([topic, left]) => [{ topic }, left])
    })
    const namesName = 'heat_to_pan_unresolved_names'
    measures.gauge(namesName, 'Things named by reports and never reported themselves.', () => {
      const { snapshot } = this
      if (this.#current.levelMs === undefined) return []
      return [[{}, snapshot.namedOnly(snapshot.at().view).size]]
    })
  }
}

function isNone(counts: ReadonlyMap<string, number>): boolean {
  return [...counts.values()].every((count) => count === 0)
}

/** Decisions behind these positions, as sentences. */
async function decidedSince(
  database: Database,
  plant: string,
  since: Positions,
  most: number,
): Promise<{ sentence: string; at: string }[]> {
  const places = [...since].map(([key, offset]) => {
    const at = key.lastIndexOf('/')
    return { topic: key.slice(0, at), partition: Number(key.slice(at + 1)), offset }
  })
  const found = await Promise.all(
    places
      .filter(({ topic }) => topic.endsWith('quality'))
      .map((place) => readDecisionsFrom(database, plant, place, most)),
  )
  return found
    .flat()
    .sort((a, b) => a.statement.recorded - b.statement.recorded)
    .slice(0, most)
    .map(({ statement }) => ({ sentence: describeReport(statement), at: statement.time }))
}

function whyOf(error: unknown): string {
  const { code } = error as { code?: string }
  if (code === '42P01' || code === '42703')
    return 'the database has no tables yet; genealogy makes them'
  return reasonOf(error)
}
