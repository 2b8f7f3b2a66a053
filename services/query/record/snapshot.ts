// Follows the record: what was written to the store since the positions seen last goes into the record
// in hand. Answers are worked out on views of it.
import type { Ms } from '../../events/fact.ts'
import type { Noted, Said } from '../../metal/fact-book.ts'
import type { View } from '../../metal/followed.ts'
import type { Store } from '../../store/connect.ts'
import * as record from '../../store/read.ts'
import type { Stopped } from '../../store/stopped.ts'
import { shared } from '../sharing.ts'
import type { MarkBook } from './mark-book.ts'
import type { NamedSince } from './named-only.ts'
import { type Moment, RecordInHand, type Told, tieOf } from './record-in-hand.ts'
import type { ThingBook } from './thing-book.ts'

/** The record is not the one that was followed so far: what was read of it is of no use. */
export class RecordReplacedError extends Error {
  constructor() {
    super('The record was made anew: it has to be followed from its beginning.')
    this.name = 'RecordReplacedError'
  }
}

export class Snapshot {
  readonly #store: Store
  readonly #record = new RecordInHand()
  /** Made anew with each change. */
  #next: ReadonlyMap<string, bigint> = new Map()
  #stopped: readonly Stopped[] = []
  #projection = ''
  /** Something broke while a change was taken in. */
  #torn = false
  #version = 0
  readonly #catchUp = shared(() => this.#follow())

  constructor(store: Store) {
    this.#store = store
  }

  get things(): ThingBook {
    return this.#record.things
  }

  get marks(): MarkBook {
    return this.#record.marks
  }

  /** Contradictions that stand decided by rule. */
  conflicts() {
    return this.#record.conflicts()
  }

  /** How far each partition has been followed, by topic/partition. */
  get positions(): ReadonlyMap<string, bigint> {
    return this.#next
  }

  /** Partitions that stand still: they say so without anything new in the record. */
  get stopped(): readonly Stopped[] {
    return this.#stopped
  }

  /** The version of the event types that wrote the record; empty while there is nothing in it. */
  get projection(): string {
    return this.#projection
  }

  /** Catches up with the database; those who call meanwhile share the next time. Throws RecordReplacedError. */
  refresh(): Promise<void> {
    return this.#catchUp()
  }

  /** Higher whenever something more was followed. */
  get version(): number {
    return this.#version
  }

  /** What was known at a moment of recorded time; all of it when none is given. */
  at(asOf?: Ms): Moment {
    return this.#record.at(asOf)
  }

  /** Things that reports name and that have no report of their own, as of a view. */
  namedOnly(view: View): NamedSince {
    return this.#record.namedOnly(view)
  }

  /** What came into force or went out of it after a moment of recorded time. */
  changedSince(asOf: Ms): Told[] {
    return this.#record.changedSince(asOf)
  }

  async #follow(): Promise<void> {
    // Half of a change is none: whoever asks next gets a snapshot made anew.
    if (this.#torn) throw new RecordReplacedError()
    const glance = await record.readGlance(this.#store.pool)
    this.#assertSame(glance.positions)
    if (this.#isLevelWith(glance.positions)) return this.#know(glance)
    const fresh: Told[] = []
    const next = new Map(this.#next)
    const seen = await record.snapshot(this.#store, async (database) => {
      const unnamed = new Set<number>()
      const seen = await record.readGlance(database)
      this.#assertSame(seen.positions)
      for (const position of seen.positions) {
        const key = `${position.topic}/${position.partition}`
        const from = this.#next.get(key) ?? 0n
        if (position.next === from) continue
        next.set(key, position.next)
        for await (const chunk of record.readSince(database, { ...position, next: from })) {
          for (const told of tellings(chunk)) {
            fresh.push(told)
            for (const { fact } of told.facts) this.#collectUnnamed(fact, unnamed)
          }
        }
      }
      if (unnamed.size > 0)
        for (const [no, name] of await record.readNames(database, [...unnamed]))
          this.#record.things.add(no, name)
      return seen
    })
    this.#torn = true
    if (!this.#isLevelWith(seen.positions)) this.#version++
    this.#record.take(fresh)
    this.#next = next
    this.#know(seen)
    this.#torn = false
  }

  /** An answer knows of what could not be read, too: asked again as of then, it must know as much. */
  #know({ newestAside, stopped }: record.Glance): void {
    this.#record.knowUpTo(newestAside)
    this.#stopped = stopped
  }

  /** Nothing of these is left to read. */
  #isLevelWith(positions: readonly record.Position[]): boolean {
    return positions.every(
      ({ topic, partition, next }) => (this.#next.get(`${topic}/${partition}`) ?? 0n) === next,
    )
  }

  /** Positions only grow, and the version of the event types that writes them stays. */
  #assertSame(positions: readonly record.Position[]): void {
    const now = new Map(positions.map((each) => [`${each.topic}/${each.partition}`, each.next]))
    for (const [key, next] of this.#next)
      if ((now.get(key) ?? 0n) < next) throw new RecordReplacedError()
    const projection = [...new Set(positions.map((each) => each.projection))].sort().join(' ')
    this.#projection ||= projection
    if (projection !== this.#projection) throw new RecordReplacedError()
  }

  #collectUnnamed(fact: { of: number; other?: number; via?: number }, unnamed: Set<number>): void {
    for (const no of [fact.of, fact.other, fact.via]) {
      if (no !== undefined && !this.#record.things.has(no)) unnamed.add(no)
    }
  }
}

/** Statements of a chunk with their facts. */
function* tellings(chunk: record.Chunk): Iterable<Told> {
  let next = 0
  for (const row of chunk.statements) {
    const said: Said = { spans: [], tie: tieOf(row[9]) }
    const facts: Noted[] = []
    for (; next < chunk.facts.length && chunk.facts[next]![0] === row[0]; next++) {
      facts.push({ fact: record.factOf(chunk.facts[next]!), said, n: chunk.facts[next]![1] })
    }
    yield { ...record.claimOf(row), said, facts, noted: false }
  }
}
