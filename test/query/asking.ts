// A record in memory with everything that answers from it, without a port.
import { type GraphQLSchema, graphql } from 'graphql'
import { REPORTING, type Role, type Who } from '../../services/access/who.ts'
import { decodeEvent, encode } from '../../services/events/envelope.ts'
import { problemSentence } from '../../services/events/problem.ts'
import type { JsonObject } from '../../services/events/statement.ts'
import { contextOver } from '../../services/query/context-over.ts'
import { Snapshot } from '../../services/query/record/snapshot.ts'
import { makeSchema } from '../../services/query/schema.ts'
import type { Receipt } from '../../services/stations/door.ts'
import type { Store } from '../../services/store/connect.ts'
import { emptyStore, PLANT, Record } from './record.ts'

export const NOW = Date.parse('2026-03-02T21:00:00Z')

/** Somebody of the plant. */
export function someone(...roles: Role[]): Who {
  return {
    subject: `a ${roles.join(' and ')}`,
    ...{ roles: new Set(roles), plant: PLANT, untilMs: Number.MAX_SAFE_INTEGER },
    stations: new Set(roles.includes('station') ? REPORTING : []),
  }
}

export const QUALITY = someone('quality')

// biome-ignore lint/suspicious/noExplicitAny: an answer is looked into as it comes
type Answer = any

export class Asking implements AsyncDisposable {
  readonly record: Record
  readonly schema: GraphQLSchema = makeSchema()
  readonly #snapshot: Snapshot
  #recorded = 0

  private constructor(record: Record) {
    this.record = record
    this.#snapshot = new Snapshot(record.store)
  }

  /** On a store of its own, unless given one with its tables. */
  static async start(store?: Store): Promise<Asking> {
    return new Asking(new Record(store ?? (await emptyStore())))
  }

  /** As a quality engineer, unless told. */
  context(waiting: ReadonlyMap<string, number> = new Map(), who = QUALITY) {
    return contextOver({
      who,
      plant: PLANT,
      store: this.record.store,
      snapshot: async () => {
        await this.#snapshot.refresh()
        return this.#snapshot
      },
      waiting: async () => waiting,
      address: `https://demo.example/plant/${PLANT}`,
      decide: (events) => this.#decide(events),
      append: async (station, { value }) =>
        this.record.take(station, Buffer.from(value).toString()),
      now: () => NOW,
    })
  }

  /** As a door does, and written at once. */
  async #decide(events: readonly JsonObject[]): Promise<Receipt[]> {
    const receipts: Receipt[] = []
    for (const event of events) {
      this.#recorded = Math.max(NOW, this.#recorded + 1)
      const decoded = decodeEvent(event, { recorded: this.#recorded })
      if (!decoded.ok) {
        const problems = decoded.problems.map((problem) => ({
          field: problem.path,
          sentence: problemSentence(problem),
        }))
        receipts.push({ outcome: 'refused', problems, flags: [] })
        continue
      }
      const { station } = decoded.statement
      await this.record.take(station, Buffer.from(encode(decoded.statement)).toString())
      receipts.push({ outcome: 'accepted', problems: [], flags: [], recorded: this.#recorded })
    }
    return receipts
  }

  /** The data of an answer; an error of any field fails the test. */
  async ask(source: string, variableValues: object = {}, who = QUALITY): Promise<Answer> {
    const { data, errors } = await this.run(source, variableValues, who)
    if (errors) throw new Error(errors.map(({ message }) => message).join('\n'))
    return JSON.parse(JSON.stringify(data))
  }

  /** The code of the first error. */
  async codeOf(source: string, variableValues: object = {}, who = QUALITY): Promise<unknown> {
    const { errors } = await this.run(source, variableValues, who)
    return errors?.[0]?.extensions?.code
  }

  run(source: string, variableValues: object, who = QUALITY) {
    return graphql({
      schema: this.schema,
      source,
      variableValues: { ...variableValues },
      contextValue: this.context(undefined, who),
    })
  }

  async [Symbol.asyncDispose](): Promise<void> {
    await this.record.store.close()
  }
}
