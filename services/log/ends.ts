// Where the log ends, for those who must not wait long for the answer.
import { setTimeout as pause } from 'node:timers/promises'
import type { Log, Span } from './log.ts'

/** Unit: ms. */
const PATIENCE = 1_000

export class Ends {
  readonly #spans: Log['spans']
  /** A question was not answered in time, and still is not. */
  #silent = false

  constructor(spans: Log['spans']) {
    this.#spans = spans
  }

  /** As it is now; undefined when the log does not say within a second, and then at once until it does. */
  async ask(): Promise<Span[] | undefined> {
    if (this.#silent) return undefined
    const asking = this.#spans()
    const done = new AbortController()
    const late = pause(PATIENCE, undefined, { signal: done.signal })
    const spans = await Promise.race([asking, late]).catch(() => undefined)
    done.abort()
    late.catch(() => undefined)
    if (!spans) void this.#listen(asking)
    return spans
  }

  async #listen(asking: Promise<unknown>): Promise<void> {
    this.#silent = true
    await asking.catch(() => pause(PATIENCE, undefined, { ref: false }))
    this.#silent = false
  }
}
