// Stands in for node:timers/promises: pauses take the time of the running world.
import { world } from './world.ts'

export function setTimeout<T>(
  ms = 0,
  value?: T,
  { signal }: { signal?: AbortSignal; ref?: boolean } = {},
): Promise<T> {
  return new Promise((done, failed) => {
    const aborted = () => failed(signal!.reason)
    if (signal?.aborted) return aborted()
    signal?.addEventListener('abort', aborted, { once: true })
    world().later(ms, () => {
      signal?.removeEventListener('abort', aborted)
      done(value as T)
    })
  })
}
