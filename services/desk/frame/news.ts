// News of the house: a hint that something came, never the data.

export type News =
  /** How many reports came in, all stations together. */
  | { kind: 'reports'; count: number }
  /** Sentences only for those who decide. */
  | { kind: 'decided'; count: number; sentences: string[] }
  /** The record was made anew: ask again. */
  | { kind: 'anew' }
  | { kind: 'connected' }
  | { kind: 'disconnected' }

/** Listens until it is ended; the browser connects again by itself. */
export function listen(hear: (news: News) => void): { end(): void } {
  const source = new EventSource('/news')
  const read = (event: Event) => JSON.parse((event as MessageEvent<string>).data)
  source.addEventListener('reports', (event) => {
    const counts = Object.values(read(event).reports as Record<string, number>)
    hear({ kind: 'reports', count: counts.reduce((sum, count) => sum + count, 0) })
  })
  source.addEventListener('decided', (event) => {
    const { count, decisions = [] } = read(event) as {
      count: number
      decisions?: { sentence: string }[]
    }
    hear({ kind: 'decided', count, sentences: decisions.map(({ sentence }) => sentence) })
  })
  source.addEventListener('anew', () => hear({ kind: 'anew' }))
  source.addEventListener('open', () => hear({ kind: 'connected' }))
  source.addEventListener('error', () => hear({ kind: 'disconnected' }))
  return { end: () => source.close() }
}
