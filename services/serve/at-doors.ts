// What waits at the doors: taken in there and not yet in the log that answers are behind. Doors say so
// themselves when asked; a door that does not answer may keep anything.
import { Prompt } from '../log/prompt.ts'
import type { Listener } from '../query/server/http.ts'

/** How many reports wait, by station. */
export type Waiting = ReadonlyMap<string, number>

export interface AtDoors {
  waiting: Waiting
  /** Why it is not known how many wait. */
  unheard: readonly string[]
}

/** Those of this process. */
export interface DoorsHere {
  waiting(): Promise<Waiting>
  /** There are no others. */
  all: boolean
}

const PATH = '/waiting'
/** Of a question that nobody waits for any more. */
const GIVEN_UP_MS = 10_000

/** Asks those of this process, or those whose addresses are given. */
export class DoorsAsked {
  readonly #here: DoorsHere | undefined
  readonly #there: readonly { address: string; asked: Prompt<Waiting> }[]

  constructor(addresses: readonly string[], here?: DoorsHere) {
    this.#here = here
    this.#there = addresses.map((address) => {
      return { address, asked: new Prompt(() => askDoor(address)) }
    })
  }

  async ask(): Promise<AtDoors> {
    const unheard: string[] = []
    const waiting = new Map<string, number>()
    const add = (more: Waiting) => {
      for (const [station, count] of more) waiting.set(station, (waiting.get(station) ?? 0) + count)
    }
    if (this.#here) add(await this.#here.waiting())
    if (this.#there.length === 0 && !this.#here?.all)
      unheard.push('no doors are named that could be asked (HEAT_TO_PAN_DOORS)')
    const answers = await Promise.all(this.#there.map(({ asked }) => asked.ask()))
    for (const [i, answer] of answers.entries())
      if (answer) add(answer)
      else unheard.push(`the door at ${this.#there[i]!.address} does not answer`)
    return { waiting, unheard }
  }
}

async function askDoor(address: string): Promise<Waiting> {
  const signal = AbortSignal.timeout(GIVEN_UP_MS)
  const response = await fetch(address + PATH, { signal, redirect: 'error' })
  if (!response.ok) throw new Error(`${address} answers ${response.status}`)
  const counts = Object.entries((await response.json()) as Record<string, unknown>)
  if (!counts.every(([, count]) => Number.isSafeInteger(count)))
    throw new Error(`${address} is no door`)
  return new Map(counts as [string, number][])
}

/** Answers GET /waiting with the counts by station. */
export function waitingListener(waiting: () => Promise<Waiting>): Listener {
  return async (request, response) => {
    if (request.url !== PATH || request.method !== 'GET') return false
    const counts = JSON.stringify(Object.fromEntries(await waiting()))
    response.writeHead(200, { 'content-type': 'application/json' }).end(counts + '\n')
    return true
  }
}
