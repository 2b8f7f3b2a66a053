// Decisions of a page that offers several, each by a name of its own; the page asks again once they show.
import type { Ask } from '../frame/ask.ts'
import { Decision, type Outcome } from '../frame/decision.ts'

/** The record follows within a second or so, later where much comes in. Unit: ms. */
const SHOWN_AFTER_MS = [1_000, 4_000]

export class Decisions {
  readonly #redraw: () => void
  readonly #again: () => void
  readonly #byName = new Map<string, Decision>()
  #timers: ReturnType<typeof setTimeout>[] = []

  /** `again` asks anew what the page shows. */
  constructor(redraw: () => void, again: () => void) {
    this.#redraw = redraw
    this.#again = again
  }

  of(name: string): Decision {
    const known = this.#byName.get(name) ?? new Decision(this.#redraw)
    this.#byName.set(name, known)
    return known
  }

  async publish<Data, Variables>(
    name: string,
    what: Ask<Data, Variables>,
    variables: (reportId: string) => Variables,
    outcomeOf: (data: Data) => Outcome,
  ): Promise<void> {
    const decision = this.of(name)
    await decision.publish(what, variables, outcomeOf)
    if (decision.outcome?.__typename !== 'Published') return
    this.#timers.push(...SHOWN_AFTER_MS.map((ms) => setTimeout(this.#again, ms)))
  }

  /** The page is left. */
  end(): void {
    this.#timers.forEach(clearTimeout)
    this.#timers = []
  }
}
