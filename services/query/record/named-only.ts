// Things that reports name and that have no report of their own. Kept level with the record fact by fact:
// there may be as many as the record is long, and from one state of it to the next only a few are others.
import type { Fact, Kind, Ms, Station } from '../../events/fact.ts'
import { type FactBook, NOW, type Noted } from '../../metal/fact-book.ts'
import { PerThing } from '../../metal/per-thing.ts'
import type { Things } from '../../metal/things.ts'

/** Which station reports things of a kind, and what makes one reported. */
export const OWN_REPORT: Partial<
  Record<Kind, { station: Station; facts: readonly Fact['what'][]; lacks: string }>
> = {
  lot: {
    station: 'receive',
    facts: ['lot-received', 'returns-collected', 'metal-moved'],
    lacks: 'was used and its receipt never reported: what is in it is not known',
  },
  charge: {
    station: 'melt',
    facts: ['charge-line'],
    lacks: 'was melted and its weights never reported: its metal is unrecorded',
  },
  heat: {
    station: 'melt',
    facts: ['heat-begun'],
    lacks: 'was tapped and its melting never reported: its metal is unrecorded',
  },
  ladle: {
    station: 'melt',
    facts: ['ladle-tapped', 'metal-moved'],
    lacks: 'was poured and its tap never reported: its metal is unrecorded',
  },
  sand: {
    station: 'mold',
    facts: ['sand-mulled'],
    lacks: 'was used and its mulling never reported: what is in it is not known',
  },
  pour: {
    station: 'pour',
    facts: ['poured'],
    lacks: 'is named as a source and was never reported: its metal is unrecorded',
  },
  load: {
    station: 'clean',
    facts: ['load-handled'],
    lacks: 'is named as a source and was never reported: where its castings came from is not known',
  },
  pack: {
    station: 'ship',
    facts: ['pack-line', 'repacked'],
    lacks: 'was shipped and its packing never reported: what is in it is not known',
  },
}

/** Things named only, each with the moment from which on that matters. Unit: ms. */
export type NamedSince = ReadonlyMap<number, Ms>

export class NamedOnly {
  readonly #book: FactBook
  readonly #things: Things
  readonly #now = new PerThing((no) => this.#since(no, NOW))

  constructor(book: FactBook, things: Things) {
    this.#book = book
    this.#things = things
  }

  /** A fact came into force, or went out of it. */
  turned({ fact }: Noted): void {
    this.#now.stir(fact.of)
    if ('other' in fact && fact.other !== undefined) this.#now.stir(fact.other)
  }

  now(): NamedSince {
    return this.#now.all()
  }

  /** As of a moment of recorded time: all that was ever named is looked at. */
  at(asOf: Ms): NamedSince {
    const found = new Map<number, Ms>()
    for (const no of this.#book.namedElsewhere()) {
      const since = this.#since(no, asOf)
      if (since !== undefined) found.set(no, since)
    }
    return found
  }

  /** Undefined where it has a report of its own, or was not named by then. */
  #since(no: number, asOf: Ms): Ms | undefined {
    const own = OWN_REPORT[this.#things.kind(no)]
    if (!own || !this.#book.wasNamed(no, asOf)) return undefined
    if (own.facts.some((what) => this.#book.of(no, what, asOf).length > 0)) return undefined
    return this.#book.firstAt(no, asOf)
  }
}
