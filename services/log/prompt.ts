// A question to others for those who must not wait long for the answer.
import { setTimeout as pause } from 'node:timers/promises'

/** Unit: ms. */
const PATIENCE = 1_000

export class Prompt<Answer> {
  readonly #question: () => Promise<Answer>
  /** It was not answered in time, and still is not. */
  #silent = false

  constructor(question: () => Promise<Answer>) {
    this.#question = question
  }

  /** As it is now; undefined when nobody says within a second, and then at once until somebody does. */
  async ask(): Promise<Answer | undefined> {
    if (this.#silent) return undefined
    const asking = this.#question()
    const done = new AbortController()
    const late = pause(PATIENCE, undefined, { signal: done.signal })
    const answer = await Promise.race([asking, late]).catch(() => undefined)
    done.abort()
    late.catch(() => undefined)
    if (!answer) void this.#listen(asking)
    return answer ?? undefined
  }

  async #listen(asking: Promise<unknown>): Promise<void> {
    this.#silent = true
    await asking.catch(() => pause(PATIENCE, undefined, { ref: false }))
    this.#silent = false
  }
}
