// Stands in for services/store/columns.ts and copy.ts under the write path: rows go to the simulated
// database as they are.
import type { Row } from './database.ts'
import type { Session } from './session.ts'

interface Table {
  copy: string
}

/** Where a text of rows would be made ready. */
interface Ready {
  length: number
  rows: readonly Row[]
}

export function table(name: string): Table {
  return { copy: name }
}

export function copyText(_: Table, rows: readonly Row[]): Ready {
  return { length: rows.length, rows }
}

export async function copyIn(session: unknown, into: string, { rows }: Ready): Promise<void> {
  await (session as Session).insert(into, rows)
}

export async function copyRows(
  session: unknown,
  { copy }: Table,
  rows: readonly Row[],
): Promise<void> {
  if (rows.length > 0) await (session as Session).insert(copy, rows)
}
