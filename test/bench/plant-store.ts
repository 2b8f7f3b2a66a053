// The invented foundry's reports in a PostgreSQL of their own, and what answers from it, as the house has it.
import { randomUUID } from 'node:crypto'
import { type GraphQLSchema, graphql } from 'graphql'
import type { Role, Who } from '../../services/access/who.ts'
import { decodeEvent, encode } from '../../services/events/envelope.ts'
import type { JsonObject } from '../../services/events/statement.ts'
import { readRecord } from '../../services/genealogy/reading.ts'
import { PLANT } from '../../services/plant/names.ts'
import type { Context } from '../../services/query/context.ts'
import { contextOver } from '../../services/query/context-over.ts'
import { Snapshot } from '../../services/query/record/snapshot.ts'
import { makeSchema } from '../../services/query/schema.ts'
import type { Receipt } from '../../services/stations/door.ts'
import type { Store } from '../../services/store/connect.ts'
import { writeSlice } from '../../services/store/write.ts'
import { newPostgres } from '../log/real-postgres.ts'
import { plantRecords } from './plant-records.ts'

/** As many as the log hands over at once when there is enough to read. */
const SLICE = 2_000

// biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
type Answer = any

export class PlantStore implements AsyncDisposable {
  readonly schema: GraphQLSchema = makeSchema()
  readonly store: Store
  readonly reports: number
  readonly #drop: () => Promise<unknown>
  readonly #snapshot: Snapshot
  readonly #next = new Map<string, number>()
  #recorded = Date.now()

  private constructor(store: Store, drop: () => Promise<unknown>, reports: number) {
    this.store = store
    this.reports = reports
    this.#drop = drop
    this.#snapshot = new Snapshot(store)
  }

  /** Works so many days, and reads all of it. */
  static async of(days: number): Promise<PlantStore> {
    const make = await newPostgres
    if (typeof make === 'string') throw new Error(make)
    const { store, drop } = await make()
    const logged = plantRecords(days)
    const plant = new PlantStore(store, drop, logged.length)
    for (const [topic, some] of Map.groupBy(logged, ({ station }) => station))
      for (let at = 0; at < some.length; at += SLICE)
        await plant.#write(topic, some.slice(at, at + SLICE))
    await store.pool.query('vacuum analyze')
    await plant.#snapshot.refresh()
    return plant
  }

  async #write(topic: string, some: readonly { key: string; value: Uint8Array }[]): Promise<void> {
    const from = this.#next.get(topic) ?? 0
    const place = { topic, partition: 0 }
    const records = some.map(({ key, value }, i) => {
      const record = { ...place, offset: BigInt(from + i), key, value: Buffer.from(value) }
      return readRecord(record, topic as never, 0)
    })
    await writeSlice(this.store, { ...place, projection: 'bench', records })
    this.#next.set(topic, from + some.length)
  }

  context(who: Who): Context {
    // Once a request, as the house does.
    let fresh: Promise<Snapshot> | undefined
    return contextOver({
      who,
      plant: who.plant,
      store: this.store,
      snapshot: () => {
        fresh ??= this.#snapshot.refresh().then(() => this.#snapshot)
        return fresh
      },
      waiting: async () => new Map(),
      address: PLANT,
      decide: (events) => this.#decide(events),
      append: () => Promise.reject(new Error('nothing is replayed here')),
      now: Date.now,
    })
  }

  /** As a door does, and written at once. */
  async #decide(events: readonly JsonObject[]): Promise<Receipt[]> {
    const receipts: Receipt[] = []
    const byTopic = new Map<string, { key: string; value: Uint8Array }[]>()
    for (const event of events) {
      const recorded = ++this.#recorded
      const decoded = decodeEvent(event, { recorded })
      if (!decoded.ok) throw new Error(JSON.stringify(decoded.problems))
      const { statement } = decoded
      const some = byTopic.get(statement.station) ?? []
      byTopic.set(statement.station, [...some, { key: statement.source, value: encode(statement) }])
      receipts.push({ outcome: 'accepted', problems: [], flags: [], recorded })
    }
    for (const [topic, some] of byTopic) await this.#write(topic, some)
    return receipts
  }

  /** The data of an answer; throws on any error. */
  async ask(source: string, variableValues: Record<string, unknown> = {}, role: Role = 'quality') {
    const contextValue = this.context(someone(role))
    const { data, errors } = await graphql({
      schema: this.schema,
      source,
      variableValues,
      contextValue,
    })
    if (errors) throw errors[0]
    return data as Answer
  }

  /** What was published; throws where nothing was. */
  async decide(name: string, type: string, input: object, reportId: string = randomUUID()) {
    const source = `mutation ($input: ${type}!) { ${name}(input: $input) { __typename
      ... on Published { matter sentence } ... on Refused { problems { field sentence } } } }`
    const decision = (await this.ask(source, { input: { reportId, ...input } }))[name]
    if (decision.__typename !== 'Published') throw new Error(JSON.stringify(decision))
    return decision as { matter: string; sentence: string }
  }

  async [Symbol.asyncDispose](): Promise<void> {
    await this.#drop()
  }
}

/** Somebody of the invented foundry. */
export function someone(role: Role): Who {
  const plant = PLANT.replace(/.*\/plant\//, '')
  return {
    ...{ subject: `bench ${role}`, roles: new Set([role]), plant },
    ...{ stations: new Set<never>(), untilMs: Number.MAX_SAFE_INTEGER },
  }
}
