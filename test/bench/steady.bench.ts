// A steady stream of reports, and somebody who asks all the while: how long it takes from the moment a
// report is due until an answer shows it, and what the processes hold in memory meanwhile. Reports go out
// by the clock, whatever has become of those before, and count from when they were due: a pause anywhere
// shows in all that it delays. Once through doors, Kafka, genealogy, PostgreSQL and query as processes of
// their own, and once through the embedded default.
// npm run prove takes it in; by itself: node services/run.mjs test/bench/steady.bench.ts [minutes]
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { topicsOf } from '../../services/log/topics.ts'
import { makeTestTopics } from '../log/kafka-topics.ts'
import { ownCluster } from '../log/real-broker.ts'
import { newPostgres } from '../log/real-postgres.ts'
import { measured, readyState, signedIn, spawnServices } from '../serve/processes.ts'
import { type Finding, report } from './finding.ts'
import { type Sample, type Slope, slopeOf } from './slope.ts'
import { type Stream, stream } from './stream.ts'

const PER_SECOND = 200
/** Memory takes so long to settle, code to be compiled. */
const WARM_UP_SECONDS = 150
const SAMPLE_SECONDS = 5
const BLOCK_SECONDS = 30
const EMBEDDED_MINUTES = 1.5
const MOST_MS = 1_000
const MOST_GROWTH = 1
const MEGABYTE = 2 ** 20

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
  const watching = watchMemory(house.addresses)
  const streamed = await stream(await house.ends(), PER_SECOND, minutes * 60)
  const samples = watching.stop()
  return [
    ...latencies(streamed, 'through a door, Kafka, genealogy, PostgreSQL and query'),
    ...(minutes * 60 > WARM_UP_SECONDS + 6 * BLOCK_SECONDS ? memory(samples, minutes) : []),
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
  for (const name of names) {
    const run = spawnServices(name === 'house' ? [] : [name], {
      HEAT_TO_PAN_DATA: folder,
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
    addresses,
    ends: async () => ({
      door: addressOf('doors'),
      query: addressOf('query'),
      sends: await signedIn(folder, 'station'),
      asks: await signedIn(folder, 'quality'),
    }),
  }
}

/** The memory of a process, as it tells itself. Unit: bytes. */
interface Memory {
  resident: Sample[]
  heap: Sample[]
}

function watchMemory(addresses: ReadonlyMap<string, string>) {
  const memory = new Map<string, Memory>()
  for (const name of addresses.keys()) memory.set(name, { resident: [], heap: [] })
  const began = performance.now()
  const timer = setInterval(async () => {
    for (const [name, address] of addresses) {
      const at = (performance.now() - began) / 1_000
      const tell = async (list: Sample[], measure: string) => {
        const value = await measured(address, measure).catch(() => undefined)
        if (value !== undefined) list.push({ at, value })
      }
      await tell(memory.get(name)!.resident, 'process_resident_memory_bytes')
      await tell(memory.get(name)!.heap, 'nodejs_heap_size_used_bytes')
    }
  }, SAMPLE_SECONDS * 1_000)
  return {
    stop() {
      clearInterval(timer)
      return memory
    },
  }
}

function latencies({ latencyMs, unseen, sent }: Stream, road: string): Finding[] {
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
      measured: String(unseen),
      limit: '0',
      pass: unseen === 0,
    },
  ]
}

function memory(samples: ReadonlyMap<string, Memory>, minutes: number): Finding[] {
  const settled = (list: readonly Sample[]) => list.filter(({ at }) => at >= WARM_UP_SECONDS)
  return [...samples].flatMap(([name, { resident, heap }]) => {
    const [residentSlope, heapSlope] = [
      slopeOf(settled(resident), BLOCK_SECONDS),
      slopeOf(settled(heap), BLOCK_SECONDS),
    ]
    const what = `memory of ${name} over ${minutes} minutes at ${PER_SECOND} reports a second, after ${WARM_UP_SECONDS} s`
    const measured = `heap ${perMinute(heapSlope)}, resident ${perMinute(residentSlope)}, ${Math.round(resident.at(-1)!.value / MEGABYTE)} MiB at the end`
    // What query knows is in its memory: it grows with the record, by so much a report.
    if (name === 'query')
      return {
        what: `${what}: it holds the record, and may grow by it`,
        measured: `${measured}; ${Math.round(heapSlope.value / PER_SECOND)} bytes of heap a report`,
        limit: '',
        pass: true,
      }
    return {
      what,
      measured,
      limit: `heap not over ${MOST_GROWTH} MiB a minute, with all that chance leaves open`,
      pass: (60 * heapSlope.high) / MEGABYTE <= MOST_GROWTH,
    }
  })
}

function perMinute({ value, low, high }: Slope): string {
  const [middle, least, most] = [value, low, high].map((each) =>
    ((60 * each) / MEGABYTE).toFixed(2),
  )
  return `${middle} MiB a minute (${least} to ${most})`
}

if (import.meta.main) {
  report(await measureSteady(process.argv[2] ? Number(process.argv[2]) : 10))
  process.exit()
}
