import type { Reader, Span } from '../log.ts'
import type { LogError } from '../log-error.ts'
import { type LocalGroup, nameOf } from './share.ts'

interface Waiting {
  ends: Span[]
  done: () => void
  failed: (reason: LogError) => void
}

/** Who waits until all that was appended before has been taken, by any reader of the group anywhere. */
export class Settling {
  readonly #group: LocalGroup
  #waiting: Waiting[] = []
  #over: LogError | undefined

  constructor(group: LocalGroup) {
    this.#group = group
  }

  get isAsked(): boolean {
    return this.#waiting.length > 0
  }

  wait(spans: readonly Span[]): Promise<void> {
    return new Promise((done, failed) => {
      if (this.#over) return failed(this.#over)
      this.#waiting.push({ ends: spans.filter(({ first, next }) => next > first), done, failed })
      this.check()
    })
  }

  check(): void {
    this.#waiting = this.#waiting.filter(({ ends, done, failed }) => {
      const left = ends.filter((end) => !this.#group.hasTaken(end, end.next))
      const stopped = left.flatMap((end) => this.#group.whyStopped(end) ?? [])
      if (left.length === 0) done()
      else if (stopped[0]) failed(stopped[0])
      return left.length > 0 && !stopped[0]
    })
  }

  /** What no reader of this process has in hand is taken elsewhere: how far, only the reader knows. */
  async lookElsewhere(reader: Reader): Promise<void> {
    const ends = new Map(
      this.#waiting.flatMap(({ ends }) => ends).map((end) => [nameOf(end), end] as const),
    )
    for (const end of ends.values()) {
      if (this.#group.isHeld(end) || this.#group.hasTaken(end, end.next)) continue
      const next = await reader.from(end.topic, end.partition).catch(() => undefined)
      if (next !== undefined && !this.#group.isHeld(end)) this.#group.taken(end, next)
    }
  }

  /** Nobody waits any more, and nobody may. */
  end(reason: LogError): void {
    this.#over = reason
    for (const { failed } of this.#waiting.splice(0)) failed(reason)
  }
}
