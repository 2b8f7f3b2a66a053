// Where what is decided and taken down by query goes in: the doors of this process, else a door of its
// own with a folder beside theirs, opened when it is first needed. So a process that only answers holds
// no folder, and any number of them can share one.
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import type { JsonObject } from '../events/statement.ts'
import { FolderHeldError } from '../log/segment/folder-lock.ts'
import type { Receipt } from '../stations/door.ts'
import { type Doors, type DoorsParts, openDoors } from './doors.ts'

export interface Decisions {
  /** Resolves when they are on disk. Throws one sentence when another process holds the folder. */
  take(events: readonly JsonObject[]): Promise<Receipt[]>
  /** What is not sent on yet, by topic. Unit: reports. */
  waiting(): Promise<ReadonlyMap<string, number>>
  stop(): Promise<void>
}

/** Through doors that are open already. */
export function decisionsThrough(doors: Doors): Decisions {
  return {
    take: (events) => doors.door.take(events, { decisions: true }),
    waiting: async () => (await doors.forwarding?.waiting()) ?? new Map(),
    stop: async () => undefined,
  }
}

/** Through a door of its own; what one before it left unsent is sent on from the start. */
export async function ownDecisions(parts: Omit<DoorsParts, 'stations'>): Promise<Decisions> {
  const folder = join(parts.settings.folder, 'decisions')
  const settings = { ...parts.settings, folder, logFolder: join(folder, 'log') }
  let opening: Promise<Doors> | undefined
  const open = () => {
    opening ??= openDoors({ ...parts, settings, stations: ['quality', 'inspect'] }).catch(
      (error) => {
        opening = undefined
        throw error
      },
    )
    return opening
  }
  if (existsSync(folder))
    await open().catch((error) => {
      if (!(error instanceof FolderHeldError)) throw error
    })
  return {
    take: async (events) => (await open()).door.take(events, { decisions: true }),
    waiting: async () => (await (await opening)?.forwarding?.waiting()) ?? new Map(),
    stop: async () => (await opening)?.stop(),
  }
}
