// Databases in memory. Making one is over a second of a processor, emptying one a tenth of that: what one test
// has closed, the next of the process gets, with no table in it.
import { connect, type Store } from '../../services/store/connect.ts'

const idle: Store[] = []

export async function memoryStore(): Promise<Store> {
  const store = idle.pop() ?? (await connect({ memory: true }))
  let isOpen = true
  return {
    ...store,
    async close() {
      if (!isOpen) return
      isOpen = false
      await empty(store)
      idle.push(store)
    },
  }
}

/** Comes behind all that was asked of it before: it has one connection. */
async function empty({ pool }: Store): Promise<void> {
  const { rows } = await pool.query<{ name: string }>(
    `select quote_ident(nspname) as name from pg_namespace
     where nspname !~ '^pg_' and nspname <> 'information_schema'`,
  )
  for (const { name } of rows) await pool.query(`drop schema ${name} cascade`)
  await pool.query('create schema public')
}
