// Rows into a table by columns: one statement per table and one array per column, written as
// PostgreSQL writes arrays. At 500 rows this is some twenty times faster than row by row.
import type { Database } from './connect.ts'

type ColumnType =
  | 'text'
  | 'text[]'
  | 'integer'
  | 'smallint'
  | 'bigint'
  | 'double precision'
  | 'boolean'
  | 'jsonb'
  | 'bytea'

/** A table as rows are written to it. */
export interface Table<Column extends string> {
  insert: string
  columns: readonly [Column, ColumnType][]
}

/** Absent and null are both written as null. */
export type Row<Column extends string> = { [Name in Column]: unknown }

export type RowOf<T> = T extends Table<infer Column> ? Row<Column> : never

export function table<Column extends string>(
  name: string,
  types: Record<Column, ColumnType>,
): Table<Column> {
  const columns = Object.entries(types) as [Column, ColumnType][]
  const names = columns.map(([column]) => `"${column}"`)
  // Arrays of arrays cannot be taken apart again by row, so a list goes in as its own text.
  const parameters = columns.map(([, type], i) => `$${i + 1}::${type.replace('[]', '')}[]`)
  const values = columns.map(([column, type]) => `"${column}"::${type}`)
  return {
    columns,
    insert: `insert into ${name} (${names})
      select ${values} from unnest(${parameters}) as new (${names})`,
  }
}

export async function insertRows<Column extends string>(
  database: Database,
  { columns, insert }: Table<Column>,
  rows: readonly Row<Column>[],
): Promise<void> {
  if (rows.length === 0) return
  const arrays = columns.map(([column, type]) =>
    arrayText(rows.map((row) => valueText(type, row[column]))),
  )
  await database.query(insert, arrays)
}

/** Texts as one array of PostgreSQL. */
export function textArray(values: readonly string[]): string {
  return arrayText(values.map(quote))
}

function arrayText(elements: readonly string[]): string {
  return `{${elements.join(',')}}`
}

function valueText(type: ColumnType, value: unknown): string {
  if (value === undefined || value === null) return 'NULL'
  switch (type) {
    case 'text':
      return quote(value as string)
    case 'text[]':
      return quote(textArray(value as string[]))
    case 'jsonb':
      return quote(JSON.stringify(value))
    case 'bytea':
      return quote(`\\x${Buffer.from(value as Uint8Array).toString('hex')}`)
    default:
      return String(value)
  }
}

function quote(text: string): string {
  return `"${text.replace(/["\\]/g, '\\$&')}"`
}
