import type { Fact, Kind, Name } from '../../services/events/fact.ts'
import type { Span } from '../../services/events/span.ts'
import { FactBook, type Noted } from '../../services/metal/fact-book.ts'
import type { CastingsMetal } from '../../services/metal/melt/yard.ts'
import { type Changed, Melt } from '../../services/metal/melt.ts'
import type { Things } from '../../services/metal/things.ts'

/** A record said by hand: facts by name, each in force from a moment of recorded time on. */
export class HandRecord implements Things {
  readonly book = new FactBook()
  readonly #names: Name[] = []
  readonly #numbers = new Map<Name, number>()
  #said = 0

  no(name: Name): number {
    let no = this.#numbers.get(name)
    if (no === undefined) {
      no = this.#names.push(name) - 1
      this.#numbers.set(name, no)
    }
    return no
  }

  kind(no: number): Kind {
    return this.#names[no]!.split(':')[0] as Kind
  }

  plant(): string {
    return 'works'
  }

  name(no: number): Name {
    return this.#names[no]!
  }

  numberOf(_plant: string, name: Name): number | undefined {
    return this.#numbers.get(name)
  }

  /** Notes facts of one statement; by default in force from now on. */
  say(
    facts: Fact[],
    spans: Span[] = [{ since: ++this.#said, until: Number.POSITIVE_INFINITY }],
  ): Changed[] {
    const said = { spans, tie: ++this.#said }
    return facts.map((fact, n) => {
      const noted: Noted = { fact: this.numbered(fact), said, n }
      this.book.note(noted)
      return { noted, from: spans[0]!.since }
    })
  }

  numbered(fact: Fact): Fact<number> {
    const numbered: Record<string, unknown> = { ...fact, of: this.no(fact.of) }
    for (const end of ['other', 'via'] as const) {
      const name = (fact as { other?: Name; via?: Name })[end]
      if (name !== undefined) numbered[end] = this.no(name)
    }
    return numbered as unknown as Fact<number>
  }

  melt(castings: CastingsMetal = NO_CASTINGS): Melt {
    return new Melt(this.book, this, castings)
  }
}

/** A castings side that knows nothing. */
export const NO_CASTINGS: CastingsMetal = { moldGrams: () => undefined, metalOf: () => [] }
