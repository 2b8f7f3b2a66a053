// npm start    the whole house in one process: doors, log, genealogy, database, GraphQL

import { genealogy } from './genealogy/consume.ts'
import { prepareRecord } from './genealogy/prepare.ts'
import { type FolderLock, lockFolder } from './log/folder-lock.ts'
import type { Following } from './log/log.ts'
import { openSegmentLog, type SegmentLog } from './log/segment.ts'
import { topicsOf } from './log/topics.ts'
import { type Context, contextOver } from './query/context.ts'
import { listen } from './query/http.ts'
import { pageListener } from './query/page.ts'
import { makeSchema } from './query/schema.ts'
import { startQuery } from './query/server.ts'
import { Snapshot } from './query/snapshot.ts'
import { type Settings, settings } from './settings.ts'
import { type Door, openDoor } from './stations/door.ts'
import { intakeListener } from './stations/http.ts'
import { connect, type Store } from './store/connect.ts'

export interface HouseParts {
  settings: Settings
  /** Show the schema, and a page to ask from. */
  demo: boolean
  tell(line: string): void
}

export interface House extends AsyncDisposable {
  /** Such as http://127.0.0.1:4000. */
  address: string
  door: Door
  store: Store
  snapshot: Snapshot
  /** A context as a request gets it. */
  context(): Context
  /** Resolves when all that the doors took in before the call can be asked for. */
  settled(): Promise<void>
}

/** Opens everything on the data folder; whoever holds it already is named in the error. */
export async function openHouse(parts: HouseParts): Promise<House> {
  const { tell } = parts
  const open = new AsyncDisposableStack()
  try {
    const lock: FolderLock = await lockFolder(parts.settings.folder)
    open.defer(() => lock.release())
    const log = await openLog(parts)
    open.defer(() => log.close())
    const { databaseUrl, databaseFolder } = parts.settings
    const store = await connect(databaseUrl ? { url: databaseUrl } : { folder: databaseFolder })
    open.defer(() => store.close())
    await prepareRecord(store, tell)
    const following = await log.follow(genealogy({ store, log, now: Date.now, tell }))
    open.defer(() => following.stop())
    const door = await openDoor({ log })
    open.defer(() => door.close())
    const snapshot = new Snapshot(store)
    await snapshot.refresh()
    const context = contexts(parts, store, snapshot, log)
    const failed = (id: string, error: unknown) => tell(`Error ${id}: ${String(error)}`)
    const schema = makeSchema()
    const query = await startQuery({ schema, context, demo: parts.demo, failed })
    open.defer(() => query.stop())
    const { host, port, plantAddress } = parts.settings
    const pages = parts.demo ? [pageListener(schema)] : []
    const listeners = [query.listener, ...pages, intakeListener({ door, plantAddress })]
    const listening = await listen({ host, port }, listeners, (error) =>
      failed('of a request', error),
    )
    open.defer(() => listening.stop())
    lock.announce(listening.address)
    const stopping = open.move()
    return {
      address: listening.address,
      door,
      store,
      snapshot,
      context,
      settled: () => settled(following, snapshot),
      [Symbol.asyncDispose]: () => stopping.disposeAsync(),
    }
  } catch (error) {
    await open.disposeAsync()
    throw error
  }
}

async function openLog({
  settings: { logFolder, partitions },
  tell,
}: HouseParts): Promise<SegmentLog> {
  const log = await openSegmentLog({ folder: logFolder, topics: topicsOf(), partitions })
  for (const { path, bytes } of log.torn) {
    tell(
      `A crash had left ${bytes} bytes of an unfinished record at the end of ${path}; none of it was acknowledged.`,
    )
  }
  return log
}

function contexts(
  parts: HouseParts,
  store: Store,
  snapshot: Snapshot,
  log: SegmentLog,
): () => Context {
  return () => {
    // Within one request everything is answered from one state.
    let fresh: Promise<Snapshot> | undefined
    return contextOver({
      plant: parts.settings.plant,
      store,
      snapshot: () => {
        fresh ??= snapshot.refresh().then(() => snapshot)
        return fresh
      },
      waiting: async () => {
        const behind = new Map<string, number>()
        for (const { topic, partition, next } of await log.spans()) {
          const read = snapshot.positions.get(`${topic}/${partition}`) ?? 0n
          behind.set(topic, (behind.get(topic) ?? 0) + Number(next - read))
        }
        return behind
      },
      now: Date.now,
    })
  }
}

async function settled(following: Following, snapshot: Snapshot): Promise<void> {
  await following.settled()
  await snapshot.refresh()
}

/** Stops the house on the first signal; a second one ends the process at once. */
export function stopOnSignal(house: House, tell: (line: string) => void): void {
  let asked = false
  for (const signal of ['SIGINT', 'SIGTERM'] as const) {
    process.on(signal, () => {
      if (asked) process.exit(1)
      asked = true
      tell('Stopping: what is under way is finished first.')
      void house[Symbol.asyncDispose]().then(() => process.exit(0))
    })
  }
}

if (import.meta.main) {
  const tell = (line: string) => console.log(line)
  try {
    const house = await openHouse({ settings, demo: false, tell })
    stopOnSignal(house, tell)
    tell(`The house answers at ${house.address}: POST /graphql, POST /events, GET /health.`)
  } catch (error) {
    console.error(error instanceof Error ? error.message : error)
    process.exitCode = 1
  }
}
