// The snapshot that questions are answered from. Where the record was made anew under it, by another
// version of the program or by hand, it is made anew too: what it had would be counted twice.
import type { Store } from '../../store/connect.ts'
import { RecordReplacedError, Snapshot } from './snapshot.ts'

export class Current {
  readonly #store: Store
  #snapshot: Snapshot
  /** When it was last level with the database; undefined before the first time. Unit: ms. */
  levelMs: number | undefined

  constructor(store: Store) {
    this.#store = store
    this.#snapshot = new Snapshot(store)
  }

  get snapshot(): Snapshot {
    return this.#snapshot
  }

  /** Catches up with the database. */
  async refresh(): Promise<Snapshot> {
    const asked = this.#snapshot
    const askedMs = Date.now()
    try {
      await asked.refresh()
    } catch (error) {
      if (!(error instanceof RecordReplacedError)) throw error
      if (this.#snapshot === asked) this.#snapshot = new Snapshot(this.#store)
      return this.refresh()
    }
    this.levelMs = Math.max(this.levelMs ?? 0, askedMs)
    return asked
  }
}
