// News of the house: a hint that something came, never the data.

import { whoIsIn } from './ask.ts'

export type News =
  /** How many reports came in, all stations together. */
  | { kind: 'reports'; count: number }
  /** Sentences only for those who decide. */
  | { kind: 'decided'; count: number; sentences: string[] }
  /** The record was made anew: ask again. */
  | { kind: 'anew' }
  | { kind: 'connected' }
  | { kind: 'disconnected' }
  | { kind: 'signed-out' }

/** Between two tries to hear again: from the least, doubled each time, to the most. Unit: ms. */
const LEAST_WAIT_MS = 1_000
const MOST_WAIT_MS = 30_000

/** Listens until it is ended. */
export function listen(hear: (news: News) => void): { end(): void } {
  let waitMs = LEAST_WAIT_MS
  let timer: ReturnType<typeof setTimeout> | undefined
  let source = opened()

  function opened(): EventSource {
    const stream = new EventSource('/news')
    const read = (event: Event) => JSON.parse((event as MessageEvent<string>).data)
    stream.addEventListener('reports', (event) => {
      const counts = Object.values(read(event).reports as Record<string, number>)
      hear({ kind: 'reports', count: counts.reduce((sum, count) => sum + count, 0) })
    })
    stream.addEventListener('decided', (event) => {
      const { count, decisions = [] } = read(event) as {
        count: number
        decisions?: { sentence: string }[]
      }
      hear({ kind: 'decided', count, sentences: decisions.map(({ sentence }) => sentence) })
    })
    stream.addEventListener('anew', () => hear({ kind: 'anew' }))
    stream.addEventListener('open', () => {
      waitMs = LEAST_WAIT_MS
      hear({ kind: 'connected' })
    })
    stream.addEventListener('error', () => void failed(stream))
    return stream
  }

  async function failed(stream: EventSource): Promise<void> {
    hear({ kind: 'disconnected' })
    // A browser connects again by itself after a break, and never where it was turned away.
    if (stream.readyState !== EventSource.CLOSED) return
    const isOut = await whoIsIn().then(
      (who) => who === undefined,
      () => false,
    )
    if (isOut) return hear({ kind: 'signed-out' })
    timer = setTimeout(() => (source = opened()), waitMs * (0.5 + Math.random() / 2))
    waitMs = Math.min(MOST_WAIT_MS, waitMs * 2)
  }

  return {
    end() {
      clearTimeout(timer)
      source.close()
    },
  }
}
