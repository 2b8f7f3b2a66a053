// A steady stream of reports, and somebody who asks all the while: how long it takes from the moment a
// report is due until an answer shows it, and what the processes hold in memory meanwhile. Reports go out
// by the clock, whatever has become of those before, and count from when they were due: a pause anywhere
// shows in all that it delays. Once through doors, Kafka, genealogy, PostgreSQL and query as processes of
// their own, and once through the embedded default.
// npm run prove takes it in; by itself, with one line at the end that says whether all is as promised:
// node services/run.mjs test/bench/steady.bench.ts [minutes]
import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { topicsOf } from '../../services/log/topics.ts'
import { makeTestTopics } from '../log/kafka-topics.ts'
import { ownCluster } from '../log/real-broker.ts'
import { newPostgres } from '../log/real-postgres.ts'
import { measured, readyState, signedIn, spawnServices } from '../serve/processes.ts'
import { type Finding, report } from './finding.ts'
import { LIVE_MEMORY_FILE, type LiveMemory } from './live-memory.ts'
import { type Sample, type Slope, slopeOf } from './slope.ts'
import { type Stream, stream } from './stream.ts'

const PER_SECOND = 200
/** Memory takes so long to settle, code to be compiled; of a short run a third. */
const WARM_UP_SECONDS = 150
/** A shorter run tells how memory grows, and is not held to it. */
const JUDGED_MINUTES = 8
/** Of the time after that. */
const BLOCKS = 15
const EMBEDDED_MINUTES = 1.5
const MOST_MS = 1_000
/** Whatever is kept of each report takes more than that. */
const MOST_BYTES_A_REPORT = 16
const MEGABYTE = 2 ** 20
/** What is to stay as it is; query holds the record, and grows with it. */
const FLAT = ['doors', 'genealogy']

/** Throws where there is no Java with Maven, or no PostgreSQL. */
export async function measureSteady(minutes = 10): Promise<Finding[]> {
  return [...(await inServices(minutes)), ...(await embedded(Math.min(minutes, EMBEDDED_MINUTES)))]
}

export async function inServices(minutes: number): Promise<Finding[]> {
  const start = await ownCluster({ brokers: 1 })
  const make = await newPostgres
  if (typeof start === 'string') throw new Error(start)
  if (typeof make === 'string') throw new Error(make)
  await using open = new AsyncDisposableStack()
  const cluster = await start()
  open.defer(() => cluster.stop())
  const database = await make()
  open.defer(() => database.drop())
  await makeTestTopics(cluster.addresses, topicsOf(), 4)
  const house = await startHouse(open, ['doors', 'genealogy', 'query'], {
    HEAT_TO_PAN_BROKERS: cluster.addresses.join(','),
    HEAT_TO_PAN_DATABASE: database.url,
  })
  const grown = watchHeap(house.addressOf('query'))
  const began = Date.now()
  const streamed = await stream(await house.ends(), PER_SECOND, minutes * 60)
  const held = await Promise.all(FLAT.map((name) => house.liveMemory(name)))
  return [
    ...latencies(streamed, 'through a door, Kafka, genealogy, PostgreSQL and query'),
    ...FLAT.map((name, i) => flatness(name, held[i]!, began, minutes)),
    await grown(streamed.sent),
  ]
}

export async function embedded(minutes: number): Promise<Finding[]> {
  await using open = new AsyncDisposableStack()
  const house = await startHouse(open, ['house'], {})
  const streamed = await stream(await house.ends(), PER_SECOND, minutes * 60)
  return latencies(streamed, 'through the embedded default, all of it in one process')
}

/** Starts each service in a process; `house` is all of them in one. */
async function startHouse(
  open: AsyncDisposableStack,
  names: readonly string[],
  environment: Readonly<Record<string, string>>,
) {
  const folder = await mkdtemp(join(tmpdir(), 'steady-'))
  open.defer(() => rm(folder, { recursive: true, force: true }))
  const addresses = new Map<string, string>()
  const memoryFile = (name: string) => join(folder, `${name}.memory`)
  for (const name of names) {
    const run = spawnServices(name === 'house' ? [] : [name], {
      HEAT_TO_PAN_DATA: folder,
      ...(FLAT.includes(name) && {
        NODE_OPTIONS: `--import=${join(import.meta.dirname, 'live-memory.ts')}`,
        [LIVE_MEMORY_FILE]: memoryFile(name),
      }),
      ...environment,
    })
    open.defer(async () => {
      run.kill('SIGKILL')
      await run.ended
    })
    addresses.set(name, await run.address)
  }
  for (const address of addresses.values())
    while ((await readyState(address)).status !== 'ready') await pause(200)
  const addressOf = (name: string) => addresses.get(name) ?? addresses.get('house')!
  return {
    addressOf,
    ends: async () => ({
      door: addressOf('doors'),
      query: addressOf('query'),
      sends: await signedIn(folder, 'station'),
      asks: await signedIn(folder, 'quality'),
    }),
    async liveMemory(name: string): Promise<LiveMemory[]> {
      const text = await readFile(memoryFile(name), 'utf8')
      return text
        .trim()
        .split('\n')
        .map((line) => JSON.parse(line))
    },
  }
}

/** What a process holds, as it tells itself; answers what it has grown by. */
function watchHeap(address: string): (reports: number) => Promise<Finding> {
  const heap = () => measured(address, 'nodejs_heap_size_used_bytes')
  const before = heap()
  return async (reports) => {
    const [was, is] = [(await before) ?? 0, (await heap()) ?? 0]
    return {
      what: 'memory of query, which holds the record, with garbage',
      measured: `${mebibytes(was)} MiB before, ${mebibytes(is)} MiB at the end: ${Math.round((is - was) / reports)} bytes a report`,
      limit: '',
      pass: true,
    }
  }
}

function latencies({ latencyMs, refused, unseen, sent }: Stream, road: string): Finding[] {
  const sorted = latencyMs.toSorted((a, b) => a - b)
  const at = (share: number) => Math.round(sorted[Math.floor(share * (sorted.length - 1))]!)
  return [
    {
      what: `from a report being due to its showing in an answer, ${PER_SECOND} a second, ${road}: 99 of 100 of ${sorted.length.toLocaleString('en')}`,
      measured: `within ${at(0.99)} ms, half within ${at(0.5)} ms, all within ${at(1)} ms`,
      limit: `${MOST_MS} ms`,
      pass: at(0.99) < MOST_MS,
    },
    {
      what: `of ${sent.toLocaleString('en')} sent, refused or never seen`,
      measured: `${refused} refused, ${unseen} never seen`,
      limit: '0',
      pass: refused + unseen === 0,
    },
  ]
}

/** Held to what no growth that goes on with the reports could keep to. */
function flatness(
  name: string,
  memory: readonly LiveMemory[],
  began: number,
  minutes: number,
): Finding {
  const warmUp = Math.min(WARM_UP_SECONDS, 20 * minutes)
  const blockSeconds = (60 * minutes - warmUp) / BLOCKS
  const settled = memory
    .map((each) => ({ ...each, at: (each.at - began) / 1_000 - warmUp }))
    .filter(({ at }) => at >= 0 && at < BLOCKS * blockSeconds)
  const slope = (of: (each: LiveMemory) => number) =>
    slopeOf(
      settled.map((each): Sample => ({ at: each.at, value: of(each) })),
      blockSeconds,
    )
  const held = slope((each) => each.held)
  const last = memory.at(-1)!
  const perReport = ({ value, low, high }: Slope) => {
    const [middle, least, most] = [value, low, high].map((each) => (each / PER_SECOND).toFixed(1))
    return `${middle} bytes a report (${least} to ${most})`
  }
  return {
    what: `memory that ${name} holds with ${PER_SECOND} reports a second, all garbage collected, after ${Math.round(warmUp)} s of ${minutes} minutes`,
    measured: `grows by ${perReport(held)}, ${mebibytes(last.held)} MiB at the end; resident ${mebibytes(last.resident)} MiB, by ${perReport(slope((each) => each.resident))}`,
    limit:
      minutes < JUDGED_MINUTES
        ? ''
        : `held: at most ${MOST_BYTES_A_REPORT} bytes a report, with all that chance leaves open`,
    pass: minutes < JUDGED_MINUTES || held.high / PER_SECOND <= MOST_BYTES_A_REPORT,
  }
}

function mebibytes(bytes: number): number {
  return Math.round(bytes / MEGABYTE)
}

if (import.meta.main) {
  const minutes = process.argv[2] ? Number(process.argv[2]) : 10
  const services = await inServices(minutes)
  report(services)
  const whole = await embedded(Math.min(minutes, EMBEDDED_MINUTES))
  report(whole)
  const failed = [...services, ...whole].filter(({ pass }) => !pass).length
  console.log(failed === 0 ? 'All as promised.' : `${failed} not as promised.`)
  process.exit()
}
