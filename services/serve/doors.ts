// The doors as a service: reports come in over HTTP and are acknowledged when they are on this disk.
// Where brokers hold the log they are sent on from there; else the disk is the log.
import { readdir } from 'node:fs/promises'
import type { Access } from '../access/access.ts'
import type { Audit } from '../access/audit.ts'
import { STATIONS, type Station } from '../events/fact.ts'
import { sourceOf } from '../events/source.ts'
import { type Forwarding, forward } from '../log/forward.ts'
import { lockFolder } from '../log/segment/folder-lock.ts'
import { openSegmentLog, type SegmentLog } from '../log/segment/segment.ts'
import { type Door, openDoor, type Receipt } from '../stations/door.ts'
import { intakeListener } from '../stations/http.ts'
import { waitingListener } from './at-doors.ts'
import type { Ground, Service } from './service.ts'

export interface Doors extends Service {
  door: Door
  /** On this disk. */
  log: SegmentLog
  /** Absent where the disk is the log. */
  forwarding?: Forwarding
  /** Tells those who want the folder where the house answers. */
  announce(address: string): void
}

export interface DoorsParts extends Ground {
  /** Who is let in. */
  access: Access
  audit: Audit
  /** Whose reports come in. */
  stations: readonly Station[]
}

/** Opens the data folder and the doors on it; whoever holds it already is named in the error. */
export async function openDoors(parts: DoorsParts): Promise<Doors> {
  const { settings, measures, stations, access, audit } = parts
  const open = new AsyncDisposableStack()
  try {
    const lock = await lockFolder(settings.folder)
    open.defer(() => lock.release())
    const topics = await topicsOn(parts)
    const log = await openDisk(parts, topics)
    open.defer(() => log.close())
    const forwarding = settings.kafka && (await sendOn(parts, log, topics))
    if (forwarding) open.defer(() => forwarding.stop())
    const count = measures.counter('heat_to_pan_events_total', 'Events at the doors, by outcome.')
    const judged = (receipt: Receipt) =>
      count({ station: stationOf(receipt, stations), outcome: receipt.outcome })
    const door = await openDoor({ log, stations, judged })
    open.defer(() => door.close())
    const { plantAddress } = settings
    const opened = open.move()
    return {
      ...{ door, log, ...(forwarding && { forwarding }) },
      listeners: [
        intakeListener({ door, plantAddress, whoSends: access.whoSends, noted: audit.note }),
        ...(forwarding ? [waitingListener(() => forwarding.waiting())] : []),
      ],
      announce: (address) => lock.announce(address),
      troubles: () => (door.trouble === undefined ? [] : [door.trouble]),
      notes: () => (forwarding ? notesOf(forwarding) : []),
      stop: () => opened.disposeAsync(),
    }
  } catch (error) {
    await open.disposeAsync()
    throw error
  }
}

/** Those that come in here, and those the disk has from before: what it keeps has to be sent on. */
async function topicsOn({ settings, stations }: DoorsParts): Promise<Station[]> {
  const kept: string[] = await readdir(settings.logFolder).catch(() => [])
  return STATIONS.filter((station) => stations.includes(station) || kept.includes(station))
}

async function openDisk(
  { settings, journal }: DoorsParts,
  topics: readonly Station[],
): Promise<SegmentLog> {
  const { logFolder: folder, partitions } = settings
  const log = await openSegmentLog({ folder, topics, partitions })
  for (const { path, bytes } of log.torn) {
    journal.warn(
      `A crash had left ${bytes} bytes of an unfinished record at the end of ${path}; none of it was acknowledged.`,
      { path, bytes },
    )
  }
  return log
}

async function sendOn(
  { settings, measures, journal }: DoorsParts,
  spool: SegmentLog,
  kept: readonly Station[],
): Promise<Forwarding> {
  const { topicPrefix = '', ...place } = settings.kafka!
  const topics = kept.map((own) => topicPrefix + own)
  const forwarding = await forward({
    ...{ spool, folder: settings.logFolder, tell: (line) => journal.warn(line) },
    topic: (own) => topicPrefix + own,
    async open() {
      const { openKafkaLog } = await import('../log/kafka/kafka.ts')
      return openKafkaLog({ ...place, topics, tell: (line) => journal.warn(line) })
    },
  })
  measures.gauge('heat_to_pan_spool_lag', 'Reports taken in and not sent on, by topic.', async () =>
    [...(await forwarding.waiting())].map(([topic, waiting]) => [{ topic }, waiting]),
  )
  measures.gauge('heat_to_pan_spool_refused', 'Topics that the brokers do not let us write.', () =>
    [...forwarding.refusals.keys()].map((topic) => [{ topic }, 1]),
  )
  const gone = () => [[{}, forwarding.gone]] as const
  measures.gauge('heat_to_pan_forwarded_total', 'Reports sent on to the brokers.', gone, 'counter')
  return forwarding
}

function notesOf({ away, refusals }: Forwarding): string[] {
  return [...(away === undefined ? [] : [away]), ...refusals.values()]
}

/** Only known stations become labels: what is refused may say anything of itself. */
function stationOf({ source }: Receipt, stations: readonly Station[]): string {
  const said = source === undefined ? undefined : sourceOf(source)?.station
  return stations.find((station) => station === said) ?? 'unknown'
}
