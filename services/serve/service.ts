// One of the things a process may do: take reports in, follow the log, answer questions.
import type { Listener } from '../query/server/http.ts'
import type { Settings } from '../settings.ts'
import type { Journal } from '../watch/journal.ts'
import type { Measures } from '../watch/measures.ts'
import type { Watched } from '../watch/state.ts'

export interface Service extends Watched {
  listeners: readonly Listener[]
  /** Ends what would go on for ever. */
  hangUp?(): void
  /** Finishes what is under way. */
  stop(): Promise<void>
}

/** What every service is given by its process. */
export interface Ground {
  settings: Settings
  journal: Journal
  measures: Measures
}
