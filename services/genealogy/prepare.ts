import { PROJECTION_VERSION } from '../events/projection-version.ts'
import type { Store } from '../store/connect.ts'
import { emptyRecord } from '../store/empty.ts'
import { migrate } from '../store/migrate.ts'
import { readPositions } from '../store/read.ts'

/**
 * Brings the tables up to date. A database made by another version of the event types is emptied when
 * it is embedded, so that following the log makes it anew, in place. One that others may be reading is
 * refused; it is none of those that store/place.ts names, where each version has its own.
 */
export async function prepareRecord(store: Store, tell: (line: string) => void): Promise<void> {
  const applied = await migrate(store)
  if (applied.length > 0) tell(`Tables brought up to date: ${applied.join(', ')}.`)
  const positions = await readPositions(store.pool)
  if (positions.every(({ projection }) => projection === PROJECTION_VERSION)) return
  if (!store.embedded)
    throw new Error(
      'This database was made by another version of the event types. Stop what writes it, run "npm run rebuild" and start again; until it is done its answers are incomplete.',
    )
  tell('The event types have changed since this database was made: it is made anew from the log.')
  await emptyRecord(store)
}
