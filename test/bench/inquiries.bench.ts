// A rep's questions over HTTP, 500 a second on two cores, against a bare HTTP server that reads a JSON body
// and answers one of the same length: both in the same run, one after the other, asked by another thread.
// npm run prove takes it in; by itself: node services/run.mjs test/bench/inquiries.bench.ts [days]
import { createServer } from 'node:http'
import { Worker } from 'node:worker_threads'
import { type Listening, listen } from '../../services/query/server/http.ts'
import { startQuery } from '../../services/query/server/server.ts'
import { type Finding, report } from './finding.ts'
import { PlantStore, someone } from './plant-store.ts'

const DAYS = 10
const PER_SECOND = 500
const SECONDS = 20
const WARM_UP_SECONDS = 5
const P99_MS = 100

/** What the thread that asks says of one run. */
export interface Run {
  asked: number
  failed: number
  p50: number
  p99: number
  /** From the first request to the last answer. */
  seconds: number
}

const INQUIRY = `query ($mark: String!, $customer: String) { inquiry(mark: $mark, customer: $customer) { __typename
  ... on Inquiry { mark reassurance say because next packs castings products { name } made { from to }
    shippedOn shippedToCaller inspected complaints completeness { verdict sentence } cautions { sentence } }
  ... on MarkUnclear { askCaller reassurance say candidates { mark products { name } } }
  ... on MarkNotFound { sentence near } } }`
const IN_HAND = `query ($text: String!) { inHand(text: $text) { sentence
  marks { offset length mark candidates { mark fit } asks { question of } } } }`

export async function measureInquiries(days = DAYS): Promise<Finding[]> {
  await using plant = await PlantStore.of(days)
  const bodies = await mixed(plant)
  const who = someone('service')
  const query = await startQuery({
    schema: plant.schema,
    whoSends: async () => who,
    context: () => plant.context(who),
    demo: false,
    failed: (_, error) => console.error(error),
  })
  const house = await listen({ host: '127.0.0.1', port: 0 }, [query.listener], console.error)
  const [answer] = await Promise.all([lengthOf(house, bodies[0]!)])
  await askedFrom(`${house.address}/graphql`, bodies, WARM_UP_SECONDS)
  const cpu = process.threadCpuUsage()
  const ours = await askedFrom(`${house.address}/graphql`, bodies, SECONDS)
  const ourMicros = usedEach(cpu, ours)
  await house.stop()
  await query.stop()
  const bare = await bareServer(answer)
  await askedFrom(bare.address, bodies, WARM_UP_SECONDS)
  const bareStart = process.threadCpuUsage()
  const theirs = await askedFrom(bare.address, bodies, SECONDS)
  const bareMicros = usedEach(bareStart, theirs)
  await bare.stop()
  const rate = ours.asked / ours.seconds
  return [
    {
      what: `inquiries, marks with signs missing, unknown marks and mails of a rep, mixed, asked ${PER_SECOND} a second for ${SECONDS} s on a record of ${plant.reports.toLocaleString('en')} reports; ${ours.failed} failed`,
      measured: `${rate.toFixed(0)} a second, half within ${ours.p50.toFixed(1)} ms, 99 of 100 within ${ours.p99.toFixed(0)} ms`,
      limit: `≥ ${0.98 * PER_SECOND} a second, 99 of 100 within ${P99_MS} ms`,
      pass: ours.failed === 0 && rate >= 0.98 * PER_SECOND && ours.p99 <= P99_MS,
    },
    {
      what: 'the same against a bare HTTP server that reads and writes JSON of that length',
      measured: `${(ours.p99 / theirs.p99).toFixed(1)} times its 99 of 100 (${theirs.p99.toFixed(1)} ms), ${ourMicros.toFixed(0)} µs of processor time each against ${bareMicros.toFixed(0)} of it, of the thread that answers`,
      limit: '',
      pass: theirs.failed === 0,
    },
  ]
}

/** Bodies of requests in a mix: six of ten known marks, the others as callers give them. */
async function mixed(plant: PlantStore): Promise<string[]> {
  const { packs } = await plant.ask('{ packs(first: 200) { edges { node { marks } } } }')
  const marks: string[] = [
    ...new Set<string>(
      packs.edges.flatMap(({ node }: { node: { marks: string[] } }) => node.marks),
    ),
  ]
  const inquiry = (mark: string) => JSON.stringify({ query: INQUIRY, variables: { mark } })
  return marks.flatMap((mark, i) => {
    const known = inquiry(mark)
    const half = mark.length >> 1
    const spoiled = `${mark.slice(0, half)}?${mark.slice(half + 1)}`
    const text = `Hello, my pan with ${mark} on the sleeve is coming off, bought in March, order 4711-${i}.`
    const mail = JSON.stringify({ query: IN_HAND, variables: { text } })
    return [
      known,
      inquiry(spoiled),
      known,
      mail,
      known,
      inquiry(`QQ${i}-404`),
      known,
      known,
      mail,
      known,
    ]
  })
}

async function lengthOf(house: Listening, body: string): Promise<string> {
  const headers = { 'content-type': 'application/json' }
  const reply = await fetch(`${house.address}/graphql`, { method: 'POST', headers, body })
  const text = await reply.text()
  if (reply.status !== 200 || text.includes('"errors"')) throw new Error(text)
  return text
}

async function bareServer(answer: string) {
  const server = createServer(async (request, response) => {
    const parts: Buffer[] = []
    for await (const part of request) parts.push(part as Buffer)
    JSON.parse(Buffer.concat(parts).toString())
    response.writeHead(200, { 'content-type': 'application/json' })
    response.end(JSON.stringify(JSON.parse(answer)))
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const { port } = server.address() as { port: number }
  return {
    address: `http://127.0.0.1:${port}/`,
    stop: () =>
      new Promise((resolve) => {
        server.close(resolve)
        server.closeAllConnections()
      }),
  }
}

/** By a thread of its own, so that who asks takes no time from who answers. */
async function askedFrom(url: string, bodies: readonly string[], seconds: number): Promise<Run> {
  const workerData = { url, bodies, seconds, perSecond: PER_SECOND }
  const asking = new Worker(new URL('asking.ts', import.meta.url), { workerData })
  try {
    return await new Promise<Run>((resolve, reject) => {
      asking.once('message', resolve)
      asking.once('error', reject)
    })
  } finally {
    await asking.terminate()
  }
}

/** By this thread: it answers, and another asks. Unit: µs for one request. */
function usedEach(since: NodeJS.CpuUsage, { asked }: Run): number {
  const { user, system } = process.threadCpuUsage(since)
  return (user + system) / asked
}

if (import.meta.main) report(await measureInquiries(Number(process.argv[2] ?? DAYS)))
