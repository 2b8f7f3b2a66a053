import { mkdtemp, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { onTestFinished } from 'vitest'
import type { Log, LogRecord } from '../../services/log/log.ts'
import { openSegmentLog } from '../../services/log/segment/segment.ts'
import { topicsOf } from '../../services/log/topics.ts'

/** A folder that is gone when the test is over. */
export async function newFolder(): Promise<string> {
  const folder = await mkdtemp(join(tmpdir(), 'heat-to-pan-'))
  onTestFinished(() => rm(folder, { recursive: true, force: true }))
  return folder
}

export function openLog(folder: string): Promise<Log> {
  return openSegmentLog({ folder: join(folder, 'log'), topics: topicsOf() })
}

/** Every event that the log holds. */
export async function eventsIn(log: Log): Promise<LoggedEvent[]> {
  const events: LoggedEvent[] = []
  for (const { topic, partition, first, next } of await log.spans())
    for (let at = first; at < next; ) {
      const records = await log.read(topic, partition, at, 1_000)
      events.push(...records.map(eventOf))
      at += BigInt(records.length)
    }
  return events
}

export interface LoggedEvent {
  topic: string
  key: string
  id: string
  source: string
  recordedtime: string
  partitionkey: string
  time: string
  data: Record<string, unknown>
}

function eventOf({ topic, key, value }: LogRecord): LoggedEvent {
  return { topic, key, ...JSON.parse(Buffer.from(value).toString()) }
}
