import type { Chains } from './chains.ts'
import type { Clock } from './clock.ts'
import type { Pages } from './pages.ts'
import type { Versions } from './versions.ts'
import type { Writers } from './writers.ts'

/** What the ledger knows of its cells. */
export interface Parts {
  clock: Clock
  chains: Chains
  writers: Writers
  pages: Pages
  versions: Versions
}
