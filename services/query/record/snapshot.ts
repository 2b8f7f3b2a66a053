// Follows the record: what was written since the positions seen last goes into the timeline, and what
// changed there into the ledger and the castings. Answers are worked out on views of it.
import type { Claim } from '../../events/claim.ts'
import type { Ms } from '../../events/fact.ts'
import { holds, type Span } from '../../events/span.ts'
import { Timeline } from '../../events/timeline.ts'
import { Castings } from '../../metal/castings.ts'
import { FactBook, inForce, NOW, type Noted, type Said } from '../../metal/fact-book.ts'
import type { View } from '../../metal/followed.ts'
import { type Changed, Melt } from '../../metal/melt.ts'
import type { Store } from '../../store/connect.ts'
import * as record from '../../store/read.ts'
import { readNewestAside } from '../../store/read-aside.ts'
import { ThingBook } from './thing-book.ts'

/** A claim that carries the facts of its statement. */
interface Told extends Claim {
  said: Said
  facts: Noted[]
  /** Whether the book has its facts. */
  noted: boolean
}

/** The record is not the one that was followed so far: what was read of it is of no use. */
export class RecordReplacedError extends Error {
  constructor() {
    super('The record was made anew: it has to be followed from its beginning.')
    this.name = 'RecordReplacedError'
  }
}

/** One moment of recorded time, and what answers are worked out from. */
export interface Moment {
  view: View
  /** Recorded up to here. Unit: ms. */
  asOf: Ms
}

// Views of the past are worked out when asked for, and the last few kept.
const PAST_KEPT = 4

export class Snapshot {
  readonly #store: Store
  readonly #things = new ThingBook()
  readonly #book = new FactBook()
  readonly #timeline = new Timeline<Told>()
  readonly #castings: Castings
  readonly #melt: Melt
  readonly #next = new Map<string, bigint>()
  #projection = ''
  readonly #told: Told[] = []
  readonly #past = new Map<Ms, View>()
  #latest = 0
  /** Something broke while a change was taken in. */
  #torn = false
  #following: Promise<void> = Promise.resolve()

  constructor(store: Store) {
    this.#store = store
    this.#castings = new Castings(this.#things)
    this.#melt = new Melt(this.#book, this.#things, this.#castings)
  }

  get things(): ThingBook {
    return this.#things
  }

  /** Contradictions that stand decided by rule. */
  conflicts() {
    return this.#timeline.conflicts()
  }

  /** How far each partition has been followed, by topic/partition. */
  get positions(): ReadonlyMap<string, bigint> {
    return this.#next
  }

  /** The version of the event types that wrote the record; empty while there is nothing in it. */
  get projection(): string {
    return this.#projection
  }

  /** Catches up with the database; calls wait for each other. Throws RecordReplacedError. */
  refresh(): Promise<void> {
    this.#following = this.#following.catch(() => undefined).then(() => this.#follow())
    return this.#following
  }

  /** What was known at a moment of recorded time; all of it when none is given. */
  at(asOf: Ms = NOW): Moment {
    if (asOf >= this.#latest) return { view: this.#view(this.#castings, NOW), asOf: this.#latest }
    let view = this.#past.get(asOf)
    if (!view) {
      view = this.#view(this.#castingsAt(asOf), asOf)
      if (this.#past.size >= PAST_KEPT) this.#past.delete(this.#past.keys().next().value!)
      this.#past.set(asOf, view)
    }
    return { view, asOf }
  }

  #view(castings: Castings, asOf: Ms): View {
    return { book: this.#book, things: this.#things, melt: this.#melt, castings, asOf }
  }

  #castingsAt(asOf: Ms): Castings {
    const castings = new Castings(this.#things)
    const held = this.#told.filter((told) => inForce(told.said, asOf))
    castings.apply(
      held.flatMap((told) => told.facts.map((noted) => noted.fact)),
      [],
    )
    return castings
  }

  async #follow(): Promise<void> {
    // Half of a change is none: whoever asks next gets a snapshot made anew.
    if (this.#torn) throw new RecordReplacedError()
    const fresh: Told[] = []
    const next = new Map(this.#next)
    let newest = 0
    await record.snapshot(this.#store, async (database) => {
      const unnamed = new Set<number>()
      const positions = await record.readPositions(database)
      this.#assertSame(positions)
      // An answer knows of what could not be read, too: asked again as of then, it must know as much.
      newest = await readNewestAside(database)
      for (const position of positions) {
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
      if (unnamed.size === 0) return
      for (const [no, name] of await record.readNames(database, [...unnamed]))
        this.#things.add(no, name)
    })
    this.#torn = true
    this.#take(fresh)
    for (const [key, position] of next) this.#next.set(key, position)
    this.#latest = Math.max(this.#latest, newest)
    this.#torn = false
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
      if (no !== undefined && !this.#things.has(no)) unnamed.add(no)
    }
  }

  /** Everything told since, in one step: what comes into force and what goes out of it. */
  #take(fresh: Told[]): void {
    if (fresh.length === 0) return
    fresh.sort((a, b) => a.recorded - b.recorded)
    const changes = this.#timeline.add(fresh)
    const changed: Changed[] = []
    const added: Noted['fact'][] = []
    const removed: Noted['fact'][] = []
    for (const { claim, before, after } of changes) {
      if (!claim.noted) {
        claim.noted = true
        this.#told.push(claim)
        for (const noted of claim.facts) this.#book.note(noted)
      }
      claim.said.spans = after
      const from = turn(before, after)
      const [was, is] = [holds(before), holds(after)]
      for (const noted of claim.facts) {
        changed.push({ noted, from })
        if (is && !was) added.push(noted.fact)
        if (was && !is) removed.push(noted.fact)
      }
    }
    const made = this.#castings.apply(added, removed)
    this.#melt.apply(changed)
    this.#melt.applyCastings(made, Math.min(...changed.map(({ from }) => from)))
    this.#past.clear()
    this.#latest = Math.max(this.#latest, fresh.at(-1)!.recorded)
  }
}

/** Statements of a chunk with their facts. */
function* tellings(chunk: record.Chunk): Iterable<Told> {
  let next = 0
  for (const row of chunk.statements) {
    const said: Said = { spans: [], tie: Number.parseInt(row[9].slice(0, 12), 16) }
    const facts: Noted[] = []
    for (; next < chunk.facts.length && chunk.facts[next]![0] === row[0]; next++) {
      facts.push({ fact: record.factOf(chunk.facts[next]!), said, n: chunk.facts[next]![1] })
    }
    yield { ...record.claimOf(row), said, facts, noted: false }
  }
}

/** The first moment at which two histories differ. */
function turn(before: readonly Span[], after: readonly Span[]): Ms {
  for (let i = 0; ; i++) {
    const [a, b] = [before[i], after[i]]
    if (!a || !b) return a?.since ?? b?.since ?? Number.POSITIVE_INFINITY
    if (a.since !== b.since) return Math.min(a.since, b.since)
    if (a.until !== b.until) return Math.min(a.until, b.until)
  }
}
