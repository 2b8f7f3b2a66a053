// Reports sent by the clock, and an answer asked for again and again that shows them.
import { setTimeout as pause } from 'node:timers/promises'
import { PLANT, tap, tapData } from '../stations/said.ts'

/** Where to send and to ask, and the headers that let one in. */
export interface StreamEnds {
  door: string
  query: string
  sends: Readonly<Record<string, string>>
  asks: Readonly<Record<string, string>>
}

export interface Stream {
  sent: number
  /** Of each report seen but those of the first seconds: since it was due. Unit: ms. */
  latencyMs: number[]
  refused: number
  /** Not in any answer at the end. */
  unseen: number
}

const MACHINES = 12
const TAPS_OF_A_HEAT = 4
const UNCOUNTED_SECONDS = 10
const BETWEEN_QUESTIONS_MS = 50
/** Those that are late may take so long to show. */
const PATIENCE_MS = 60_000
/** So long after the last was due, those not seen yet are looked for behind what was. */
const LOOK_BEHIND_MS = 10_000
const PAGE = 200
/** While an older one is missing, so many pages are looked through for it. */
const PAGES_BEHIND = 8

/** Sends so many reports a second for a while, and watches until all of them have shown. */
export async function stream(
  ends: StreamEnds,
  perSecond: number,
  seconds: number,
): Promise<Stream> {
  const count = Math.round(perSecond * seconds)
  const began = performance.now()
  const beganAt = Date.now()
  const dueMs = (number: number) => (1_000 * number) / perSecond
  const shown = new Map<number, number>()
  let over = false
  const lateFrom = began + dueMs(count) + LOOK_BEHIND_MS
  const isLate = () => performance.now() > lateFrom && shown.size < count
  const watching = watch(ends, shown, { over: () => over, isLate })
  const answers: Promise<boolean>[] = []
  for (let number = 0; number < count; ) {
    const passed = performance.now() - began
    for (; number < count && dueMs(number) <= passed; number++)
      answers.push(send(ends, number, beganAt + dueMs(number)).catch(() => false))
    await pause(2)
  }
  const taken = await Promise.all(answers)
  const until = performance.now() + PATIENCE_MS
  while (shown.size < count && performance.now() < until) await pause(50)
  over = true
  await watching
  const latencyMs: number[] = []
  for (const [number, at] of shown)
    if (number >= UNCOUNTED_SECONDS * perSecond) latencyMs.push(at - began - dueMs(number))
  const refused = taken.filter((accepted) => !accepted).length
  return { sent: count, latencyMs, refused, unseen: count - shown.size }
}

/** Of a heat that changes all the time; the time it bears is the one at which it is due. */
async function send({ door, sends }: StreamEnds, number: number, at: number): Promise<boolean> {
  const event = tap(number, {
    source: `${PLANT}/melt/furnace-${number % MACHINES}`,
    time: new Date(at).toISOString(),
    data: tapData(number, { heat: `H-${Math.floor(number / TAPS_OF_A_HEAT)}` }),
  })
  const response = await fetch(`${door}/events`, {
    method: 'POST',
    headers: { 'content-type': 'application/cloudevents+json', ...sends },
    body: JSON.stringify(event),
  })
  await response.text()
  return response.ok
}

interface Page {
  edges: { node: { id: string } }[]
  pageInfo: { endCursor: string; hasNextPage: boolean }
}

interface Answer {
  data: { ladles: Page }
  errors?: { message: string }[]
}

/** Asks for the newest again and again, with a trace that has to be worked out, and notes what is new. */
async function watch(
  { query, asks }: StreamEnds,
  shown: Map<number, number>,
  { over, isLate }: { over(): boolean; isLate(): boolean },
): Promise<void> {
  const ladles = `ladles(first: ${PAGE}, after: $after) {
    edges { node { id } } pageInfo { endCursor hasNextPage } }`
  const reach = 'reach(from: {things: ["heat:H-0"]}, affected: {touched: true}) { __typename }'
  const ask = async (after: string | null): Promise<(Page & { at: number }) | undefined> => {
    // Whoever looks behind what is new only counts: that must not be load of its own.
    const question = `query ($after: String) { ${ladles} ${after === null ? reach : ''} }`
    // Whoever is not answered asks anew, and all that is due meanwhile goes on counting.
    const answer = await fetch(`${query}/graphql`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', ...asks },
      body: JSON.stringify({ query: question, variables: { after } }),
    })
      .then((response) => (response.ok ? (response.json() as Promise<Answer>) : undefined))
      .catch(() => undefined)
    if (answer?.errors) throw new Error(answer.errors[0]!.message)
    return answer && { ...answer.data.ladles, at: performance.now() }
  }
  let oldest = 0
  while (!over()) {
    // Behind a page on which all is news, or that does not reach back to what is missing, there may be more.
    for (let [after, pages]: [string | null, number] = [null, 1]; ; pages++) {
      const page = await ask(after)
      if (!page) break
      const { edges, pageInfo, at } = page
      const numbers = edges.map(({ node }) => Number(node.id.slice('ladle:L-'.length)))
      const fresh = numbers.filter((number) => !shown.has(number))
      for (const number of fresh) shown.set(number, at)
      while (shown.has(oldest)) oldest++
      const isBehind = pages < PAGES_BEHIND && Math.min(...numbers) > oldest
      const { endCursor, hasNextPage } = pageInfo
      if (over() || !hasNextPage || (fresh.length < PAGE && !isBehind && !isLate())) break
      after = endCursor
    }
    await pause(BETWEEN_QUESTIONS_MS)
  }
}
