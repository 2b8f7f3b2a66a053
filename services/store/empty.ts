import { type Store, transaction } from './connect.ts'

/**
 * Empties all that is made from the log. The dictionary stays: others may still hold its numbers.
 * Waits for those who read and write now, and they for it.
 */
export async function emptyRecord(store: Store): Promise<void> {
  await transaction(store, async (client) => {
    await client.query('set local lock_timeout = 0')
    await client.query('truncate position, statement, fact, set_aside, followed_log')
  })
}
