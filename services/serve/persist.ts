// Opening what is elsewhere: a database that is still starting, brokers that are away for now.
import { setTimeout as pause } from 'node:timers/promises'
import { LogError } from '../log/log-error.ts'

const FIRST_PAUSE_MS = 200
const LONGEST_PAUSE_MS = 5_000

/**
 * Tries until it opens, with growing pauses; undefined when stopped meanwhile. Throws what waiting does
 * not cure. `waits` is told why, each time.
 */
export async function persist<T>(
  open: () => Promise<T>,
  signal: AbortSignal,
  waits: (why: string) => void,
): Promise<T | undefined> {
  for (let pauseMs = FIRST_PAUSE_MS; !signal.aborted; pauseMs *= 2) {
    try {
      return await open()
    } catch (error) {
      if (!passes(error)) throw error
      waits(reasonOf(error))
      const ms = Math.min(pauseMs, LONGEST_PAUSE_MS) * (0.5 + Math.random())
      await pause(ms, undefined, { signal }).catch(() => undefined)
    }
  }
  return undefined
}

/** Nobody listens, no name yet, no more connections just now, or the server is starting or stopping. */
const PASSING =
  /^(E(CONN(REFUSED|RESET|ABORTED)|HOSTUNREACH|TIMEDOUT|PIPE|AI_AGAIN|NOTFOUND)|(08|53|57).{3})$/

function passes(error: unknown): boolean {
  if (error instanceof LogError) return error.code === 'LOG_AWAY'
  if (error instanceof AggregateError) return error.errors.every(passes)
  const { code, message } = error as { code?: string; message?: string }
  return PASSING.test(code ?? '') || /^(timeout expired|Connection terminated)/.test(message ?? '')
}

/** What a failed connection says by itself may be nothing at all. */
export function reasonOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error)
  return error.message || ('code' in error ? String(error.code) : error.name)
}
