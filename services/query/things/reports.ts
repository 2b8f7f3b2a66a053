// Reports as people meet them: a sentence, what was entered, what replaced what, why one was set aside.
import { hasOneOf, type Who } from '../../access/who.ts'
import { describeReport } from '../../events/catalog.ts'
import { STATIONS } from '../../events/fact.ts'
import { momentText } from '../../events/moment.ts'
import { saidFirst } from '../../events/precedence.ts'
import type { JsonObject, JsonValue } from '../../events/statement.ts'
import type { Store } from '../../store/connect.ts'
import type { Place } from '../../store/kept-record.ts'
import { countReportsOf, countSetAsideIn, topicOf } from '../../store/read-heard.ts'
import { inForceAmong, placeOf, placeText } from '../../store/read-in-force.ts'
import {
  type Report,
  readReports,
  readReportsBy,
  readReportsOf,
  readReportsOn,
  readSetAside,
  readSetAsideAt,
  type SetAsideReport,
} from '../../store/read-reports.ts'
import { batched } from '../batch.ts'
import { type Connection, type Key, type PageArgs, page } from '../connections.ts'
import type { Context, Reports } from '../context.ts'
import { accountOf } from './account.ts'
import { contractWord, plantTime } from './amounts.ts'
import { NOW } from './thing.ts'

const PREFIX = 'report:'

export function reportsOver(store: Store): Reports {
  const { pool } = store
  const found = batched(async (places: readonly string[]) => {
    const reports = await readReports(pool, places.map(knownPlace))
    const byPlace = new Map(reports.map((report) => [placeText(report.place), report]))
    return new Map(places.map((place) => [place, byPlace.get(place)]))
  })
  const held = batched(async (places: readonly string[]) => {
    const holding = await inForceAmong(pool, places.map(knownPlace), NOW)
    return new Map(places.map((place) => [place, holding.has(place)]))
  })
  return {
    async at(context, place) {
      const report = await found(placeText(place))
      if (report) return isOwn(context, report.statement) ? reportObject(context, report) : null
      const aside = await readSetAsideAt(store, place)
      return aside && isOwn(context, aside)
        ? setAsideObject(store, { ...aside, recorded: Number(aside.recorded) } as never)
        : null
    },
    isInForce: (place) => held(placeText(place)),
  }
}

/** The place that the id of a report names; undefined when it is none. */
export function placeInId(id: string): Place | undefined {
  return id.startsWith(PREFIX) ? placeOf(id.slice(PREFIX.length)) : undefined
}

/** Of the reader's plant, or of none that can be told. */
function isOwn({ plant }: Context, said: { plant: string | null }): boolean {
  return said.plant === plant || said.plant === null
}

const FOR_OTHERS =
  'What left to whom, what callers said and what was decided is for quality to read.'

/** Words of a report may name customers and callers: those are not for everybody who sees that it came. */
function mayRead(who: Who, { station, type }: { station: string; type: string | null }): boolean {
  if (hasOneOf(who, ['quality', 'admin'])) return true
  if (station === 'inspect') return type?.startsWith('inspect.complaint-') === false
  return station !== 'ship' && station !== 'quality'
}

/** The GraphQL object Report of a statement. */
export function reportObject(context: Context, report: Report): object {
  const { place, statement, flags } = report
  const { pool } = context.store
  return {
    __typename: 'Report',
    id: PREFIX + placeText(place),
    station: statement.station.toUpperCase(),
    type: statement.type,
    source: statement.source,
    number: statement.id,
    happenedAt: statement.time,
    recordedAt: plantTime(statement.recorded, statement.time),
    sentence: (_: unknown, { who }: Context) =>
      mayRead(who, statement) ? describeReport(statement) : FOR_OTHERS,
    entered: () => [...enteredIn(statement.entered)],
    inForce: () => context.reports.isInForce(place),
    replaces: async () => {
      const { joins } = accountOf(report).claim
      return joins ? firstOf(context, report, await readReportsBy(pool, joins)) : null
    },
    replacedBy: async () => lastOf(context, report, await readReportsOn(pool, statement)),
    setAsideAs: null,
    setAsideFor: null,
    flags,
  }
}

/** Only reports of one type and subject replace each other. */
function related(report: Report, others: readonly Report[]) {
  const { about } = accountOf(report).claim
  return others
    .map((other) => ({ other, claim: accountOf(other).claim }))
    .filter(({ claim }) => claim.about === about)
    .sort((a, b) => saidFirst(a.claim, b.claim))
}

function firstOf(context: Context, report: Report, others: readonly Report[]) {
  const first = related(report, others)[0]
  return first ? reportObject(context, first.other) : null
}

function lastOf(context: Context, report: Report, others: readonly Report[]) {
  const last = related(report, others).at(-1)
  return last ? reportObject(context, last.other) : null
}

/** The connection `reports` of a thing, newest first. */
export async function reportsAbout(
  context: Context,
  no: number | undefined,
  args: PageArgs,
): Promise<Connection<{ node: object }>> {
  const { pool } = context.store
  return page(args, {
    ...{ list: 'reports', of: no },
    parts: ['integer', 'string'],
    rows: async (after, most) =>
      no === undefined ? [] : readReportsOf(pool, no, { most, after: cursorOf(after) }),
    key: ({ statement, place }: Report): Key => [statement.at, placeText(place)],
    edges: (shown) => shown.map((report) => ({ node: reportObject(context, report) })),
    count: () => (no === undefined ? 0 : countReportsOf(pool, no)),
  })
}

function cursorOf(key: Key | undefined): { at: number; place: Place } | undefined {
  const place = key && placeOf(String(key[1]))
  return place && { at: Number(key[0]), place }
}

/** The connection `setAside`, newest first. */
export async function setAside(
  context: Context,
  args: PageArgs & { station?: string | null },
): Promise<Connection<{ node: object }>> {
  const { store, plant } = context
  const topic =
    args.station == null ? undefined : await topicOf(store.pool, contractWord(args.station))
  return page(args, {
    list: 'setAside',
    parts: ['string'],
    rows: (after, most) =>
      readSetAside(store, plant, { most, topic, after: after && placeOf(String(after[0])) }),
    key: (aside: SetAsideReport): Key => [placeText(aside)],
    edges: (shown) => shown.map((aside) => ({ node: setAsideObject(store, aside) })),
    count: () => countSetAsideIn(store.pool, plant, topic),
  })
}

function setAsideObject(store: Store, aside: SetAsideReport): object {
  const { topic, partition, offset, reason } = aside
  const station = STATIONS.find((name) => topic.endsWith(name)) ?? 'quality'
  return {
    __typename: 'Report',
    id: PREFIX + placeText({ topic, partition, offset }),
    station: station.toUpperCase(),
    type: aside.type,
    source: aside.source,
    number: null,
    happenedAt: null,
    recordedAt: momentText(aside.recorded),
    sentence: (_: unknown, { who }: Context) =>
      mayRead(who, { station, type: aside.type }) ? `Set aside: ${reason}` : FOR_OTHERS,
    entered: async () => {
      const kept = await readSetAsideAt(store, aside)
      return kept ? [...enteredInBytes(kept.bytes)] : []
    },
    inForce: false,
    replaces: null,
    replacedBy: null,
    setAsideAs: aside.class,
    setAsideFor: (_: unknown, { who }: Context) =>
      mayRead(who, { station, type: aside.type }) ? reason : FOR_OTHERS,
    flags: [],
  }
}

interface Entered {
  field: string
  value: string
  unit: string | null
}

/** Fields in their order; a quantity that was given with its unit is one field. */
export function* enteredIn(
  data: JsonValue,
  path = '',
  unit: string | null = null,
): Iterable<Entered> {
  if (typeof data !== 'object' || data === null) {
    yield { field: path, value: String(data), unit: typeof data === 'number' ? unit : null }
    return
  }
  if (isQuantity(data)) {
    const { value, unit: own, ...more } = data
    yield { field: path, value: String(value), unit: own === undefined ? null : String(own) }
    yield* enteredIn(more, path, own === undefined ? null : String(own))
    return
  }
  const own = 'unit' in data && typeof data.unit === 'string' ? data.unit : unit
  for (const [name, part] of Object.entries(data))
    yield* enteredIn(part, path === '' ? name : `${path}.${name}`, own)
}

const QUANTITY = new Set(['value', 'unit', 'how', 'spread', 'repeat'])

function isQuantity(data: JsonValue[] | JsonObject): data is JsonObject {
  return 'value' in data && Object.keys(data).every((name) => QUANTITY.has(name))
}

/** Longest piece shown of what is no event. Unit: characters. */
const SHOWN = 2000

function enteredInBytes(bytes: Uint8Array): Iterable<Entered> {
  const text = Buffer.from(bytes.subarray(0, 64 * SHOWN)).toString('utf8')
  try {
    const event: unknown = JSON.parse(text)
    if (typeof event === 'object' && event !== null) return enteredIn(event as JsonObject)
  } catch {
    // It is shown as it came.
  }
  return [{ field: 'as sent', value: text.slice(0, SHOWN), unit: null }]
}

/** Of places that were made by placeText. */
function knownPlace(text: string): Place {
  return placeOf(text)!
}
