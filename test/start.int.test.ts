import { randomUUID } from 'node:crypto'
import { connect as connectTo } from 'node:net'
import { describe, expect, onTestFinished, test, vi } from 'vitest'
import { openHouse } from '../services/house.ts'
import { topicsOf } from '../services/log/topics.ts'
import { PLANT } from '../services/plant/names.ts'
import { simulate } from '../services/plant/plant.ts'
import { settingsFrom } from '../services/settings.ts'
import { servicesFrom } from '../services/start.ts'
import { connect, type Store } from '../services/store/connect.ts'
import { migrate } from '../services/store/migrate.ts'
import { recordPlace } from '../services/store/place.ts'
import { readPositions } from '../services/store/read.ts'
import { writeSlice } from '../services/store/write.ts'
import { freePorts } from './log/broker-cluster.ts'
import { makeTestTopics } from './log/kafka-topics.ts'
import { type Brokers, withBroker } from './log/real-broker.ts'
import { onPostgres, type TestPostgres } from './log/real-postgres.ts'
import { FOLDERS, measured, readyState, signedIn, startServices } from './serve/processes.ts'
import { newFolder } from './stations/folders.ts'
import { tap } from './stations/said.ts'

const PATIENCE = { timeout: 60_000, interval: 100 }

describe('npm start', () => {
  test('opens everything when nothing is named, and doors by their stations', () => {
    expect(servicesFrom([])).toMatchObject({ genealogy: true, query: true })
    expect(servicesFrom([]).doors).toContain('quality')
    expect(servicesFrom(['melt', 'query'])).toEqual({
      ...{ doors: ['melt'], genealogy: false, query: true },
    })
    expect(servicesFrom(['doors']).doors).toHaveLength(8)
    expect(() => servicesFrom(['quality'])).toThrow(
      'There is no service quality. Name some of receive',
    )
  })

  test('refuses in one sentence what cannot be', async () => {
    const HEAT_TO_PAN_DATA = await newFolder()
    const HEAT_TO_PAN_BROKERS = '127.0.0.1:9'
    for (const [names, more, sentence] of [
      [['melt'], {}, 'Without brokers everything is one process'],
      [['doors', 'genealogy'], {}, 'Without brokers everything is one process'],
      [['genealogy'], { HEAT_TO_PAN_BROKERS }, 'set HEAT_TO_PAN_DATABASE'],
      [['melting'], { HEAT_TO_PAN_BROKERS }, 'There is no service melting'],
    ] as const) {
      const run = startServices(names, { HEAT_TO_PAN_DATA, ...more })
      expect(await run.ended).toBe(1)
      expect(run.errors.trim().split('\n')).toEqual([expect.stringContaining(sentence)])
    }
  })

  test('stops on a signal with what is under way done, and starts again with all of it', async () => {
    const environment = { HEAT_TO_PAN_DATA: await newFolder(), HEAT_TO_PAN_PLANT: PLANT }
    const first = startServices([], environment)
    const lines = reportsOf(40)
    await post(await first.address, lines)
    first.kill('SIGTERM')
    expect(await first.ended).toBe(0)
    const second = startServices([], environment)
    const { results } = await post(await second.address, lines)
    expect(new Set(results.map(({ outcome }) => outcome))).toEqual(new Set(['duplicate']))
    expect(await readyState(await second.address)).toEqual({ status: 'ready' })
  })
})

test('A stop that does not come to its end is broken off in time', async () => {
  const doors = startServices(['melt'], {
    ...{ HEAT_TO_PAN_DATA: await newFolder(), HEAT_TO_PAN_BROKERS: '127.0.0.1:9' },
    HEAT_TO_PAN_STOP_SECONDS: '1',
  })
  const { hostname, port, host } = new URL(await doors.address)
  const socket = connectTo(Number(port), hostname)
  onTestFinished(() => {
    socket.destroy()
  })
  const { authorization } = await signedIn(await doors.address, 'station')
  const head = `POST /events HTTP/1.1\r\nhost: ${host}\r\nauthorization: ${authorization}\r\ncontent-type: application/x-ndjson\r\n`
  await new Promise((done) => socket.write(`${head}content-length: 5000\r\n\r\n{`, done))
  // Answered after it: so the house has the request above in hand.
  await readyState(await doors.address)
  doors.kill('SIGTERM')
  expect(await doors.ended).toBe(1)
  expect(doors.lines.at(-1)?.message).toContain('not finished after 1 s')
})

describe('Doors with brokers that are away', () => {
  test('take in, and say what waits; a door takes its own station only', async () => {
    const doors = startServices(['melt'], {
      HEAT_TO_PAN_DATA: await newFolder(),
      HEAT_TO_PAN_BROKERS: '127.0.0.1:9',
    })
    const address = await doors.address
    const own = Array.from({ length: 30 }, (_, i) => JSON.stringify(tap(i)))
    const other = reportsOf(1_000).find((line) => line.includes('"type":"pour.molds-poured.v1"'))!
    const { accepted, results } = await post(address, [...own, other])
    expect(accepted).toBe(30)
    expect(JSON.stringify(results.at(-1))).toContain('Send it to the door of pour')
    expect(await measured(address, 'heat_to_pan_spool_lag')).toBe(30)
    expect(await measured(address, 'heat_to_pan_events_total')).toBe(31)
    expect(await readyState(address)).toEqual({
      ...{ status: 'ready', notes: ['No broker has answered yet.'] },
    })
    doors.kill('SIGTERM')
    expect(await doors.ended).toBe(0)
  })
})

withBroker('Services as processes of their own', (broker) => {
  test('each killed in turn, lose nothing and answer like the house in one process', async ({
    skip,
  }) => {
    const site = await newSite(broker(), await onPostgres(skip))
    const { store } = site
    // Where it is asked what waits there, also after it was killed.
    const port = String((await freePorts(1))[0])
    const environment = { ...site.environment, HEAT_TO_PAN_DOORS: `http://127.0.0.1:${port}` }
    const start = (name: string) =>
      startServices([name], {
        ...environment,
        ...(name === 'doors' && { HEAT_TO_PAN_PORT: port }),
      })
    let doors = start('doors')
    let genealogy = start('genealogy')
    let query = start('query')
    const lines = reportsOf(900)
    const kills = [
      () => {
        genealogy.kill('SIGKILL')
        genealogy = start('genealogy')
      },
      () => {
        doors.kill('SIGKILL')
        doors = start('doors')
      },
      () => {
        query.kill('SIGKILL')
        query = start('query')
      },
    ]
    for (let at = 0, batch = 0; at < lines.length; at += 50, batch++) {
      const sent = sendUntilTaken(() => doors.address, lines.slice(at, at + 50))
      if (batch % 3 === 1) kills[Math.floor(batch / 3) % kills.length]!()
      await sent
    }
    const [atDoors, atQuery] = [await doors.address, await query.address]
    await vi.waitFor(async () => {
      expect(await measured(atDoors, 'heat_to_pan_spool_lag')).toBe(0)
      expect(await measured(await genealogy.address, 'heat_to_pan_log_lag')).toBe(0)
      expect(await readyState(atQuery)).toEqual({ status: 'ready' })
    }, PATIENCE)
    await using house = await houseWith(lines)
    expect(await statementsIn(store)).toEqual(await statementsIn(house.store))
    expect(await answers(atQuery)).toEqual(await answers(house.address))
    doors.kill('SIGTERM')
    await doors.ended
    const { reportsIn } = await ask(atQuery, '{ reportsIn { verdict sentence } }')
    expect(reportsIn.verdict).not.toBe('WHOLE')
    expect(reportsIn.sentence).toContain(`the door at ${atDoors} does not answer`)
    for (const process of [query, genealogy]) process.kill('SIGTERM')
    expect(await Promise.all([query, genealogy, doors].map(({ ended }) => ended))).toEqual([
      0, 0, 0,
    ])
    const alarms = [query, genealogy, doors].flatMap(({ lines }) =>
      lines.filter(({ level }) => level === 'error'),
    )
    expect(alarms).toEqual([])
  }, 240_000)

  test('make the record of a new version beside that of another, and answer when it is level', async ({
    skip,
  }) => {
    const postgres = await onPostgres(skip)
    const { environment, store } = await newSite(broker(), postgres)
    const other = await connect({ url: postgres.url, schema: 'record_of_before' })
    onTestFinished(() => other.close())
    await migrate(other)
    const before = { topic: 'melt', partition: 0, projection: 'before', records: [] }
    await writeSlice(other, before)
    const doors = startServices(['doors'], environment)
    await post(await doors.address, reportsOf(200))
    const query = startServices(['query'], environment)
    const address = await query.address
    const notReady = (reason: string) =>
      vi.waitFor(async () => {
        const { status, reasons } = await readyState(address)
        expect([status, reasons?.join()]).toEqual(['not ready', expect.stringContaining(reason)])
      }, PATIENCE)
    await notReady('the database has no tables yet; genealogy makes them')
    await migrate(store)
    await notReady('it is still being made from the log')
    await expect(ask(address, '{ reportsIn { verdict } }')).rejects.toThrow('still being made')
    const genealogy = startServices(['genealogy'], environment)
    await vi.waitFor(async () => {
      expect(await readyState(address)).toEqual({ status: 'ready' })
      expect(await measured(address, 'heat_to_pan_snapshot_lag')).toBe(0)
    }, PATIENCE)
    expect(
      (await ask(address, '{ lots(first: 1) { totalCount } }')).lots.totalCount,
    ).toBeGreaterThan(0)
    const told = genealogy.lines.find(({ message }) => message.includes('is level with the log'))
    expect(told?.message).toContain('record_of_before')
    expect(await readPositions(other.pool)).toEqual([
      { topic: 'melt', partition: 0, next: 0n, projection: 'before' },
    ])
    // The same record, asked while the log does not say where it ends.
    const deaf = startServices(['query'], { ...environment, HEAT_TO_PAN_BROKERS: '127.0.0.1:9' })
    const atDeaf = await deaf.address
    await vi.waitFor(async () => expect((await readyState(atDeaf)).status).toBe('ready'), PATIENCE)
    const { reportsIn } = await ask(atDeaf, '{ reportsIn { verdict sentence } }')
    expect(reportsIn.verdict).not.toBe('WHOLE')
    expect(reportsIn.sentence).toContain(
      'how many are on their way is not known, the log does not answer',
    )
  }, 180_000)
})

/** Topics, a folder and a database for services of their own, and what their record is in. */
async function newSite({ addresses }: Brokers, { url, drop }: TestPostgres) {
  onTestFinished(drop)
  const HEAT_TO_PAN_TOPIC_PREFIX = `p${randomUUID().slice(0, 8)}.`
  await makeTestTopics(addresses, topicsOf(HEAT_TO_PAN_TOPIC_PREFIX), 2)
  const environment = {
    ...{ HEAT_TO_PAN_DATA: await newFolder(), HEAT_TO_PAN_PLANT: PLANT },
    ...{ HEAT_TO_PAN_BROKERS: addresses.join(), HEAT_TO_PAN_TOPIC_PREFIX },
    HEAT_TO_PAN_DATABASE: url,
  }
  const store = await connect(recordPlace(settingsFrom(environment)))
  onTestFinished(() => store.close())
  return { environment, store }
}

/**
 * The first reports of an invented foundry as they come, broken ones among them; without decisions,
 * which come in by no door.
 */
function reportsOf(count: number): string[] {
  const { reports } = simulate({ seed: 3, days: 1 })
  return reports
    .map(({ body }) => (typeof body === 'string' ? body : JSON.stringify(body)))
    .filter((line) => !line.includes('"type":"quality.'))
    .slice(0, count)
}

interface Outcome {
  accepted: number
  results: { outcome: string }[]
}

async function post(address: string, lines: readonly string[]): Promise<Outcome> {
  const response = await fetch(`${address}/events`, {
    method: 'POST',
    headers: { 'content-type': 'application/x-ndjson', ...(await signedIn(address, 'station')) },
    body: lines.join('\n'),
  })
  const answer = (await response.json()) as Outcome
  if (!answer.results) throw new Error(`Status ${response.status}`)
  return answer
}

/** As a station does: again and again, until it is acknowledged. */
async function sendUntilTaken(
  address: () => Promise<string>,
  lines: readonly string[],
): Promise<void> {
  await vi.waitFor(async () => post(await address(), lines), PATIENCE)
}

async function houseWith(lines: readonly string[]) {
  const folder = await newFolder()
  const settings = settingsFrom({
    ...{ HEAT_TO_PAN_DATA: folder, HEAT_TO_PAN_PORT: '0', HEAT_TO_PAN_PLANT: PLANT },
  })
  const house = await openHouse({ settings, demo: false, tell: () => undefined })
  FOLDERS.set(house.address, folder)
  for (let at = 0; at < lines.length; at += 50) await post(house.address, lines.slice(at, at + 50))
  await house.settled()
  return house
}

async function statementsIn(store: Store): Promise<unknown[]> {
  const { rows } = await store.pool.query(
    `select source, id, hash, flags, (select count(*)::int from fact
       where (fact.topic, fact.partition, fact."offset") = (s.topic, s.partition, s."offset")) as facts
     from (select distinct on (source, id, hash) * from statement order by source, id, hash, recorded) s
     order by source, id, hash`,
  )
  return rows
}

// biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
type Answer = any

async function ask(address: string, query: string, variables: object = {}): Promise<Answer> {
  const response = await fetch(`${address}/graphql`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', ...(await signedIn(address, 'quality')) },
    body: JSON.stringify({ query, variables }),
  })
  const { data, errors } = (await response.json()) as Answer
  if (errors) throw new Error(errors.map(({ message }: Error) => message).join('\n'))
  return data
}

/** What both must say alike, whatever the moment. */
async function answers(address: string): Promise<Answer[]> {
  const { lots, packs } = await ask(
    address,
    `{ lots(first: 20) { totalCount edges { node { id } } }
       packs(first: 20) { totalCount edges { node { id } } } }`,
  )
  const all: Answer[] = [lots, packs]
  for (const { node } of lots.edges.slice(0, 4))
    all.push(
      await ask(
        address,
        `query ($of: ID!) { reach(from: { things: [$of] }, affected: { touched: true }) {
          __typename ... on Reach { sentence castings { certain possible unknown clear }
            completeness { verdict sentence setAside namedOnly conflicts } } } }`,
        { of: node.id },
      ),
    )
  return all
}
