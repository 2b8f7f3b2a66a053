// Opening what is elsewhere: a database that is still starting, brokers that are away for now.
import { setTimeout as pause } from 'node:timers/promises'
import { LogError } from '../log/log-error.ts'

const FIRST_PAUSE_MS = 200
const LONGEST_PAUSE_MS = 5_000

/**
 * Tries until it opens, with growing pauses; undefined when stopped meanwhile, and what opens after that
 * is closed. Throws what waiting does not cure. `waits` is told why, each time.
 */
export async function persist<T extends { close(): Promise<void> }>(
  open: () => Promise<T>,
  signal: AbortSignal,
  waits: (why: string) => void,
): Promise<T | undefined> {
  for (let pauseMs = FIRST_PAUSE_MS; !signal.aborted; pauseMs *= 2) {
    try {
      return await unlessStopped(open(), signal)
    } catch (error) {
      if (!passes(error)) throw error
      waits(reasonOf(error))
      const ms = Math.min(pauseMs, LONGEST_PAUSE_MS) * (0.5 + Math.random())
      await pause(ms, undefined, { signal }).catch(() => undefined)
    }
  }
  return undefined
}

async function unlessStopped<T extends { close(): Promise<void> }>(
  opening: Promise<T>,
  signal: AbortSignal,
): Promise<T | undefined> {
  const { promise: stopped, resolve } = Promise.withResolvers<undefined>()
  const stop = () => {
    void opening.then((late) => late.close()).catch(() => undefined)
    resolve(undefined)
  }
  signal.addEventListener('abort', stop)
  try {
    return await Promise.race([opening, stopped])
  } finally {
    signal.removeEventListener('abort', stop)
  }
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
