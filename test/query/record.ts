// A record for tests: events as stations send them, read and written as the house does it.
import type { Station } from '../../services/events/fact.ts'
import { readRecord } from '../../services/genealogy/reading.ts'
import { connect, type Store } from '../../services/store/connect.ts'
import type { Place } from '../../services/store/kept-record.ts'
import { migrate } from '../../services/store/migrate.ts'
import { writeSlice } from '../../services/store/write.ts'
import { memoryStore } from '../store/in-memory.ts'

export const PLANT = 'north'

/**
 * A database in memory, with its tables; or the one that QUERY_TEST_DATABASE names, emptied: run these
 * tests one file at a time then.
 */
export async function emptyStore(): Promise<Store> {
  const url = process.env.QUERY_TEST_DATABASE
  const store = await (url ? connect({ url }) : memoryStore())
  if (url) await store.pool.query('drop schema public cascade; create schema public')
  await migrate(store)
  return store
}

/** What a station says; what is left out is as usual. */
export interface Saying {
  type: string
  data: object
  /** RFC 3339 with the plant's offset. */
  time: string
  id?: string
  supersedes?: string
  entry?: 'machine' | 'scan' | 'hand'
  machine?: string
  /** Absent: a minute after it happened. */
  recorded?: string
}

export class Record {
  readonly store: Store
  readonly #next = new Map<string, bigint>()
  #said = 0

  constructor(store: Store) {
    this.store = store
  }

  async say(...sayings: Saying[]): Promise<void> {
    const byStation = Map.groupBy(sayings, ({ type }) => type.split('.', 1)[0] as Station)
    for (const [station, said] of byStation)
      await this.take(station, ...said.map((saying) => JSON.stringify(this.#event(saying))))
  }

  /** Takes in records of a topic as they came; answers where the last one stands. */
  async take(station: Station, ...texts: string[]): Promise<Place> {
    const from = this.#next.get(station) ?? 0n
    const place = { topic: station, partition: 0 }
    const taken = Date.parse('2026-03-02T20:00:00Z')
    const records = texts.map((text, i) => {
      const record = { ...place, offset: from + BigInt(i), key: station, value: Buffer.from(text) }
      return readRecord(record, station, taken)
    })
    this.#next.set(station, from + BigInt(texts.length))
    const { next } = await writeSlice(this.store, { ...place, projection: 'test', records })
    return { ...place, offset: next - 1n }
  }

  #event({ type, data, time, id, supersedes, entry, machine, recorded }: Saying) {
    const station = type.split('.', 1)[0]!
    this.#said++
    return {
      specversion: '1.0',
      id: id ?? `e-${this.#said}`,
      source: sourceOf(station, machine),
      type,
      time,
      recordedtime: recorded ?? new Date(Date.parse(time) + 60_000).toISOString(),
      supersedes,
      entry,
      data,
    }
  }
}

export function sourceOf(station: string, machine?: string): string {
  return `https://demo.example/plant/${PLANT}/${station}${machine ? `/${machine}` : ''}`
}
