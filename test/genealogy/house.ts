// A log in a folder of its own and genealogy behind it.
import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { type GenealogyParts, genealogy } from '../../services/genealogy/consume.ts'
import type { Entry, Log } from '../../services/log/log.ts'
import { openSegmentLog } from '../../services/log/segment/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'
import type { Store } from '../../services/store/connect.ts'
import { entry, type Said } from './events.ts'

export interface TestLog extends AsyncDisposable {
  readonly log: Log
  folder: string
  /** Appends events to the topics of their types, in this order. */
  say(events: readonly Said[]): Promise<void>
  /** Closes the log and opens it again, as a new start does. */
  restart(): Promise<void>
}

export async function openLog(partitions = 2): Promise<TestLog> {
  const folder = await mkdtemp(join(tmpdir(), 'genealogy-'))
  const open = () => openSegmentLog({ folder, topics: topicsOf(), partitions })
  let log: Log = await open()
  return {
    get log() {
      return log
    },
    folder,
    say: (events) => say(log, events),
    async restart() {
      await log.close()
      log = await open()
    },
    async [Symbol.asyncDispose]() {
      await log.close()
      await rm(folder, { recursive: true })
    },
  }
}

/** Runs of one topic go in together; their order stays. */
export async function say(log: Log, events: readonly Said[]): Promise<void> {
  let topic = ''
  const run: Entry[] = []
  for (const event of events) {
    const next = event.type.split('.')[0]!
    if (next !== topic && run.length > 0) await log.append(topic, run.splice(0))
    topic = next
    run.push(entry(event))
  }
  if (run.length > 0) await log.append(topic, run)
}

/** Follows the log until all of it is in the database. */
export async function takeAll(
  log: Log,
  store: Store,
  more: Partial<GenealogyParts> = {},
): Promise<void> {
  const reader = genealogy({ store, log, now: () => 0, tell: () => undefined, ...more })
  const following = await log.follow(reader)
  await following.settled()
  await following.stop()
}
