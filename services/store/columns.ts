// Rows into a table by COPY, as the text that PostgreSQL reads: half as fast again as the same rows as
// arrays, many times faster than row by row.
import type { Database } from './connect.ts'
import { copyIn } from './copy.ts'

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

type Writer = (value: unknown) => string

/** A table as rows are written to it. */
export interface Table<Column extends string> {
  copy: string
  columns: readonly (readonly [Column, Writer])[]
}

/** Absent and null are both written as null. */
export type Row<Column extends string> = { [Name in Column]: unknown }

export type RowOf<T> = T extends Table<infer Column> ? Row<Column> : never

/** `before` runs in the transaction of the COPY, before it. */
export function table<Column extends string>(
  name: string,
  types: Record<Column, ColumnType>,
  before = '',
): Table<Column> {
  const sorts = Object.entries(types) as [Column, ColumnType][]
  const names = sorts.map(([column]) => `"${column}"`)
  const columns = sorts.map(([column, type]) => [column, WRITE[type]] as const)
  return { columns, copy: `${before}copy ${name} (${names}) from stdin` }
}

export async function copyRows<Column extends string>(
  database: Database,
  table: Table<Column>,
  rows: readonly Row<Column>[],
): Promise<void> {
  if (rows.length > 0) await copyIn(database, table.copy, copyText(table, rows))
}

/** Rows as COPY reads them. */
export function copyText<Column extends string>(
  { columns }: Table<Column>,
  rows: readonly Row<Column>[],
): Buffer {
  if (rows.length === 0) return Buffer.alloc(0)
  const field = (value: unknown, write: Writer) =>
    value === undefined || value === null ? '\\N' : write(value)
  const lines = rows.map((row) =>
    columns.map(([column, write]) => field(row[column], write)).join('\t'),
  )
  return Buffer.from(`${lines.join('\n')}\n`)
}

const WRITE: Record<ColumnType, Writer> = {
  text: (value) => escaped(value as string),
  'text[]': (value) => escaped(textArray(value as string[])),
  integer: String,
  smallint: String,
  bigint: String,
  'double precision': String,
  boolean: String,
  jsonb: (value) => escaped(JSON.stringify(value)),
  bytea: (value) => `\\\\x${Buffer.from(value as Uint8Array).toString('hex')}`,
}

function escaped(text: string): string {
  return SPECIAL.test(text) ? text.replace(/[\\\t\n\r]/g, (sign) => ESCAPED[sign]!) : text
}

const SPECIAL = /[\\\t\n\r]/
const ESCAPED: Record<string, string> = { '\\': '\\\\', '\t': '\\t', '\n': '\\n', '\r': '\\r' }

/** Texts as one array of PostgreSQL. */
export function textArray(values: readonly string[]): string {
  return `{${values.map(quote).join(',')}}`
}

function quote(text: string): string {
  return `"${text.replace(/["\\]/g, '\\$&')}"`
}
