// One question a page asks, from being asked to being answered or not.
import { type Ask, ask, type Failure, Unanswered } from './ask.ts'

export type Standing<Data> =
  | { is: 'nothing' }
  /** What was answered before stays to be read meanwhile. Slow after 5 seconds. */
  | { is: 'asking'; shown: boolean; slow: boolean; before: Data | undefined }
  | { is: 'stopped'; before: Data | undefined }
  | { is: 'answered'; data: Data }
  | { is: 'failed'; failure: Failure; before: Data | undefined }

/** Nothing moves for so long: most answers are there by then. Unit: ms. */
const QUIET_MS = 400
const SLOW_MS = 5_000
/** Asked again by itself when many are asking; then it is for the reader to say. */
const MOST_TRIES = 3

/** Holds how one question stands, and has the page drawn anew when that changes. */
export class Asked<Data, Variables> {
  standing: Standing<Data> = { is: 'nothing' }
  /** When it was answered, by the clock of the reader. */
  answeredAt: Date | undefined
  readonly #what: Ask<Data, Variables>
  readonly #redraw: () => void
  #variables: Variables | undefined
  #stop = new AbortController()

  constructor(what: Ask<Data, Variables>, redraw: () => void) {
    this.#what = what
    this.#redraw = redraw
  }

  /** What was answered, now or before. */
  get data(): Data | undefined {
    const { standing } = this
    if (standing.is === 'answered') return standing.data
    return standing.is === 'nothing' ? undefined : standing.before
  }

  ask(variables: Variables): Promise<void> {
    return this.#askFor(variables, QUIET_MS)
  }

  /** Asks the same once more; what was answered stays unmoved unless that takes long. */
  again(): Promise<void> {
    if (this.#variables === undefined) return Promise.resolve()
    return this.#askFor(this.#variables, this.standing.is === 'answered' ? SLOW_MS : QUIET_MS)
  }

  async #askFor(variables: Variables, quietMs: number): Promise<void> {
    this.#stop.abort()
    const stop = new AbortController()
    this.#stop = stop
    this.#variables = variables
    const before = this.data
    const asking = (shown: boolean, slow: boolean) =>
      this.#set({ is: 'asking', shown, slow, before })
    asking(false, false)
    const timers = [
      setTimeout(asking, quietMs, true, false),
      setTimeout(asking, SLOW_MS, true, true),
    ]
    try {
      const data = await this.#asked(variables, stop.signal)
      if (stop.signal.aborted) return
      this.answeredAt = new Date()
      this.#set({ is: 'answered', data })
    } catch (error) {
      if (stop.signal.aborted) return
      if (!(error instanceof Unanswered)) throw error
      this.#set({ is: 'failed', failure: error.failure, before })
    } finally {
      timers.forEach(clearTimeout)
    }
  }

  /** Gives up waiting; what was answered before stays. */
  stop(): void {
    const isWaiting = this.standing.is === 'asking'
    this.#stop.abort()
    if (isWaiting) this.#set({ is: 'stopped', before: this.data })
  }

  /** What was answered is of another question. */
  forget(): void {
    this.#stop.abort()
    this.#set({ is: 'nothing' })
  }

  async #asked(variables: Variables, signal: AbortSignal): Promise<Data> {
    for (let tries = 1; ; tries++) {
      try {
        return await ask(this.#what, variables, signal)
      } catch (error) {
        const failure = error instanceof Unanswered ? error.failure : undefined
        if (failure?.kind !== 'busy' || tries >= MOST_TRIES) throw error
        this.#set({ is: 'failed', failure: { ...failure, byItself: true }, before: this.data })
        await pause(failure.seconds * 1_000, signal)
      }
    }
  }

  #set(standing: Standing<Data>): void {
    this.standing = standing
    this.#redraw()
  }
}

function pause(ms: number, signal: AbortSignal): Promise<void> {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(resolve, ms)
    signal.addEventListener('abort', () => {
      clearTimeout(timer)
      reject(new DOMException('Stopped.', 'AbortError'))
    })
  })
}
