// What keeps the reports of a spool from getting on, told once when it begins and once when it is over.

const KEPT = 'What the doors take in is kept on their disk'

interface Refused {
  topic: string
  why: string
}

export class Hindrances {
  readonly #tell: (line: string) => void
  /** Why, by who waits. */
  readonly #away = new Map<string, string>()
  readonly #refused = new Map<string, Refused>()

  constructor(tell: (line: string) => void) {
    this.#tell = tell
  }

  /** Why the other log is waited for; undefined while nobody waits. */
  get away(): string | undefined {
    return this.#away.values().next().value
  }

  /** What somebody has to put right, by topic; under "all stations" what stops every one. */
  get refusals(): Map<string, string> {
    return new Map([...this.#refused.values()].map(({ topic, why }) => [topic, why]))
  }

  wait(who: string, why: string): void {
    if (this.#away.size === 0)
      this.#tell(`The reports do not get on (${why}). ${KEPT} and goes on as soon as it can.`)
    this.#away.set(who, why)
  }

  refuse(who: string, refused: Refused): void {
    const { topic, why } = refused
    if (this.refusals.get(topic) !== why)
      this.#tell(
        `Publishing the reports of ${topic} stands still: ${why} ${KEPT} and goes on when that is put right.`,
      )
    this.#away.delete(who)
    this.#refused.set(who, refused)
  }

  /** It works for this one. */
  over(who: string): void {
    if (this.#away.delete(who) && this.#away.size === 0) this.#tell('The reports get on again.')
    const topic = this.#refused.get(who)?.topic
    if (topic === undefined) return
    this.#refused.delete(who)
    if (!this.refusals.has(topic)) this.#tell(`Publishing the reports of ${topic} goes on.`)
  }
}
