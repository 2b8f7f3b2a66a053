// How intake reaches the door: over HTTP when a house holds the data folder, else by opening the folder
// itself.
import { setTimeout as pause } from 'node:timers/promises'
import { readOwnHeader } from '../access/access.ts'
import { FolderHeldError, holderOf, lockFolder } from '../log/segment/folder-lock.ts'
import { openSegmentLog } from '../log/segment/segment.ts'
import { topicsOf } from '../log/topics.ts'
import type { Settings } from '../settings.ts'
import { openDoor, type Receipt } from './door.ts'

export interface Road {
  /** Where the events go, in words. */
  to: string
  /** What is worth saying before anything is sent. */
  notes: string[]
  take(lines: readonly Uint8Array[]): Promise<Receipt[]>
  close(): Promise<void>
}

const BUSY_TRIES = 10
const LONGEST_MS = 60_000

/** Throws one sentence when the folder is held by something that takes no reports. */
export async function openRoad(settings: Settings): Promise<Road> {
  const holder = await holderOf(settings.folder)
  if (holder?.address) return houseRoad(holder.address, await headerFrom(settings))
  if (holder) throw new FolderHeldError(settings.folder, holder)
  return ownRoad(settings)
}

async function ownRoad({ folder, logFolder, partitions }: Settings): Promise<Road> {
  const lock = await lockFolder(folder)
  try {
    const log = await openSegmentLog({ folder: logFolder, topics: topicsOf(), partitions })
    const door = await openDoor({ log })
    return {
      to: `the folder ${folder}`,
      notes: log.torn.map(
        ({ path, bytes, keptIn }) =>
          `A crash had left ${bytes} bytes of an unfinished record at the end of ${path}; they are now in ${keptIn}.`,
      ),
      take: (lines) => door.take(lines),
      async close() {
        await door.close()
        await log.close()
        await lock.release()
      },
    }
  } catch (error) {
    await lock.release()
    throw error
  }
}

/** What the house takes for a sign-in: a token that is set, or the one it has put into its folder. */
async function headerFrom(settings: Settings): Promise<string> {
  const header = settings.token
    ? `Bearer ${settings.token}`
    : await readOwnHeader(settings, 'station')
  if (header) return header
  throw new Error('The house asks who reports: set HEAT_TO_PAN_TOKEN to a token of a station.')
}

function houseRoad(address: string, header: string): Road {
  return {
    to: `the house at ${address}`,
    notes: [],
    take: (lines) => post(`${address}/events`, header, Buffer.concat(lines.flatMap(withNewline))),
    close: async () => undefined,
  }
}

/** Waits and tries again while the house is busy; throws when it is gone or refuses the whole request. */
async function post(url: string, authorization: string, body: Buffer): Promise<Receipt[]> {
  for (let tries = 1; ; tries++) {
    const response = await fetch(url, {
      method: 'POST',
      headers: { 'content-type': 'application/x-ndjson', authorization },
      body: new Uint8Array(body),
      signal: AbortSignal.timeout(LONGEST_MS),
    })
    const answer = await answerOf(response)
    if (answer.results) return answer.results
    if (response.status !== 429 || tries === BUSY_TRIES)
      throw new Error(answer.detail ?? `The house answered with status ${response.status}.`)
    await pause(Number(response.headers.get('retry-after') ?? 1) * 1_000)
  }
}

/** Empty when it is not JSON: then it is not the house that answers. */
async function answerOf(response: Response): Promise<{ results?: Receipt[]; detail?: string }> {
  return response.json().catch(() => ({})) as Promise<{ results?: Receipt[]; detail?: string }>
}

const NEWLINE = Buffer.from('\n')
const withNewline = (line: Uint8Array) => [line, NEWLINE]
