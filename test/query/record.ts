// A small record for tests: events as stations send them, read and written as the house does it.
import { readRecord } from '../../services/genealogy/reading.ts'
import { connect, type Store } from '../../services/store/connect.ts'
import { migrate } from '../../services/store/migrate.ts'
import { writeSlice } from '../../services/store/write.ts'
import type { Station } from '../../services/events/fact.ts'

export const PLANT = 'north'

/** A database in memory with its tables, or the PostgreSQL that TEST_DATABASE_URL names. */
export async function emptyStore(): Promise<Store> {
  const store = await connect({ memory: true })
  await migrate(store)
  return store
}

/** What a station says; what is left out is as usual. */
export interface Saying {
  type: string
  data: object
  /** RFC 3339; the clock of the record goes on by a minute with each saying. */
  time?: string
  id?: string
  supersedes?: string
  entry?: 'machine' | 'scan' | 'hand'
  machine?: string
  recorded?: string
}

/** Says things and keeps count of the log. */
export class Record {
  readonly store: Store
  readonly #next = new Map<string, bigint>()
  #said = 0

  constructor(store: Store) {
    this.store = store
  }

  /** Takes in what was said, in this order; returns the ids. */
  async say(...sayings: Saying[]): Promise<string[]> {
    const ids: string[] = []
    for (const saying of sayings) {
      const event = this.event(saying)
      ids.push(event.id)
      await this.take(saying.type.split('.', 1)[0] as Station, JSON.stringify(event))
    }
    return ids
  }

  /** Many at once, as bulk; order within a station is kept. */
  async sayAll(sayings: Iterable<Saying>, batch = 500): Promise<void> {
    const byStation = new Map<Station, string[]>()
    for (const saying of sayings) {
      const station = saying.type.split('.', 1)[0] as Station
      const waiting = byStation.get(station) ?? []
      waiting.push(JSON.stringify(this.event(saying)))
      byStation.set(station, waiting)
      if (waiting.length >= batch) {
        await this.take(station, ...waiting)
        waiting.length = 0
      }
    }
    for (const [station, waiting] of byStation)
      if (waiting.length > 0) await this.take(station, ...waiting)
  }

  /** Takes in records of a topic as they came. */
  async take(station: Station, ...texts: string[]): Promise<void> {
    const from = this.#next.get(station) ?? 0n
    const readings = texts.map((text, i) => {
      const value = Buffer.from(text)
      const place = { topic: station, partition: 0, offset: from + BigInt(i) }
      return readRecord({ ...place, key: station, value }, station, Date.parse('2026-03-01T00:00:00Z'))
    })
    this.#next.set(station, from + BigInt(texts.length))
    await writeSlice(this.store, { topic: station, partition: 0, projection: 'test', records: readings } as never)
  }

  event(saying: Saying) {
    const at = new Date(Date.parse('2026-03-02T06:00:00Z') + 60_000 * this.#said++)
    const { type, data, time = local(at), machine } = saying
    const station = type.split('.', 1)[0]!
    return {
      specversion: '1.0',
      id: saying.id ?? `e-${this.#said}`,
      source: `https://demo.example/plant/${PLANT}/${station}${machine ? `/${machine}` : ''}`,
      type,
      time,
      recordedtime: saying.recorded ?? new Date(Date.parse(time) + 60_000).toISOString(),
      ...(saying.supersedes && { supersedes: saying.supersedes }),
      ...(saying.entry && { entry: saying.entry }),
      datacontenttype: 'application/json',
      data,
    }
  }
}

/** By the plant's clock, six hours behind universal time. */
export function local(at: Date): string {
  return new Date(at.getTime() - 6 * 3_600_000).toISOString().replace(/\.\d+Z$/, '-06:00')
}
