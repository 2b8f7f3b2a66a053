// Stands in for services/store/columns.ts under the write path: rows go to the simulated database as
// they are.
import type { Row, Session } from './database.ts'

interface Table {
  name: string
}

export function table(name: string): Table {
  return { name }
}

export async function insertRows(
  session: unknown,
  { name }: Table,
  rows: readonly Row[],
): Promise<void> {
  if (rows.length > 0) await (session as Session).insert(name, rows)
}

export const copyRows = insertRows
