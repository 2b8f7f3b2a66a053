// The record as answers are worked out from it: what is in force over recorded time, the ledger and
// the castings. Takes statements in any order and says what was known at any moment; where they come
// from is not its business.
import type { Claim } from '../../events/claim.ts'
import type { Ms } from '../../events/fact.ts'
import { holds, type Span } from '../../events/span.ts'
import { Timeline } from '../../events/timeline.ts'
import { Castings } from '../../metal/castings.ts'
import { FactBook, inForce, NOW, type Noted, type Said, turns } from '../../metal/fact-book.ts'
import type { View } from '../../metal/followed.ts'
import { type Changed, Melt } from '../../metal/melt.ts'
import { MarkBook } from './mark-book.ts'
import { NamedOnly, type NamedSince } from './named-only.ts'
import { ThingBook } from './thing-book.ts'

/** A claim that carries the facts of its statement. */
export interface Told extends Claim {
  said: Said
  facts: Noted[]
  /** Whether the book has its facts. */
  noted: boolean
}

/** One moment of recorded time, and what answers are worked out from. */
export interface Moment {
  view: View
  /** Recorded up to here. Unit: ms. */
  asOf: Ms
}

// Views of the past are worked out when asked for, and the last few kept.
const PAST_KEPT = 4

export class RecordInHand {
  readonly things = new ThingBook()
  readonly marks = new MarkBook(this.things)
  readonly #book = new FactBook()
  readonly #timeline = new Timeline<Told>()
  readonly #castings: Castings
  readonly #melt: Melt
  readonly #namedOnly = new NamedOnly(this.#book, this.things)
  readonly #told: Told[] = []
  readonly #past = new Map<Ms, View>()
  /** Until the next change. */
  #now: View | undefined
  #latest = 0

  constructor() {
    this.#castings = new Castings(this.things)
    this.#melt = new Melt(this.#book, this.things, this.#castings)
  }

  /** Contradictions that stand decided by rule. */
  conflicts() {
    return this.#timeline.conflicts()
  }

  /** What was known at a moment of recorded time; all of it when none is given. */
  at(asOf: Ms = NOW): Moment {
    if (asOf >= this.#latest) {
      this.#now ??= this.#view(this.#castings, NOW)
      return { view: this.#now, asOf: this.#latest }
    }
    let view = this.#past.get(asOf)
    if (!view) {
      view = this.#view(this.#castingsAt(asOf), asOf)
      if (this.#past.size >= PAST_KEPT) this.#past.delete(this.#past.keys().next().value!)
      this.#past.set(asOf, view)
    }
    return { view, asOf }
  }

  /** Things that reports name and that have no report of their own, as of a view. */
  namedOnly({ asOf }: View): NamedSince {
    return asOf === NOW ? this.#namedOnly.now() : this.#namedOnly.at(asOf)
  }

  /** What came into force or went out of it after a moment of recorded time. */
  changedSince(asOf: Ms): Told[] {
    return this.#told.filter(({ said }) => turns(said).some((turned) => turned > asOf))
  }

  /** Everything told since, in one step: what comes into force and what goes out of it. */
  take(fresh: Told[]): void {
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
        for (const noted of claim.facts) {
          this.#book.note(noted)
          this.marks.note(noted)
        }
      }
      claim.said.spans = after
      const from = turn(before, after)
      const [was, is] = [holds(before), holds(after)]
      for (const noted of claim.facts) {
        changed.push({ noted, from })
        this.#namedOnly.turned(noted)
        if (is && !was) added.push(noted.fact)
        if (was && !is) removed.push(noted.fact)
      }
    }
    const made = this.#castings.apply(added, removed)
    this.#melt.apply(changed, made)
    this.#past.clear()
    this.#now = undefined
    this.knowUpTo(fresh.at(-1)!.recorded)
  }

  /** Something that is no statement was recorded: answers know of it, too. */
  knowUpTo(recorded: Ms): void {
    this.#latest = Math.max(this.#latest, recorded)
  }

  #view(castings: Castings, asOf: Ms): View {
    return { book: this.#book, things: this.things, melt: this.#melt, castings, asOf }
  }

  #castingsAt(asOf: Ms): Castings {
    const castings = new Castings(this.things)
    const held = this.#told.filter((told) => inForce(told.said, asOf))
    castings.apply(
      held.flatMap((told) => told.facts.map((noted) => noted.fact)),
      [],
    )
    return castings
  }
}

/** For ties that fall alike whatever arrived first. */
export function tieOf(hash: string): number {
  return Number.parseInt(hash.slice(0, 12), 16)
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
