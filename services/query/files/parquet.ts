// Rows as a Parquet file: the same cells by column, with their forms. Source: Apache Parquet format 2.
import { type ColumnSource, parquetWriteBuffer, type SchemaElement } from 'hyparquet-writer'
import type { Cell } from './csv.ts'
import type { ColumnForm, Table } from './tables.ts'

/** Every column may be empty. Moments are milliseconds in universal time, and say so. */
const ELEMENT: Record<ColumnForm, Omit<SchemaElement, 'name'>> = {
  text: { type: 'BYTE_ARRAY', converted_type: 'UTF8', repetition_type: 'OPTIONAL' },
  number: { type: 'DOUBLE', repetition_type: 'OPTIONAL' },
  flag: { type: 'BOOLEAN', repetition_type: 'OPTIONAL' },
  moment: {
    type: 'INT64',
    converted_type: 'TIMESTAMP_MILLIS',
    logical_type: { type: 'TIMESTAMP', isAdjustedToUTC: true, unit: 'MILLIS' },
    repetition_type: 'OPTIONAL',
  },
}

/** `about` goes into the file as its key-value metadata. */
export function parquetFile(
  { columns }: Pick<Table, 'columns'>,
  rows: readonly (readonly Cell[])[],
  about: Readonly<Record<string, string>>,
): Uint8Array {
  const columnData = columns.map(
    ([name, form], c): ColumnSource => ({
      name,
      data: rows.map((row) => cellValue(row[c]!, form)) as ColumnSource['data'],
    }),
  )
  return new Uint8Array(
    parquetWriteBuffer({
      columnData,
      schema: [
        { name: 'root', num_children: columns.length },
        ...columns.map(([name, form]) => ({ name, ...ELEMENT[form] })),
      ],
      kvMetadata: Object.entries(about).map(([key, value]) => ({ key, value })),
      createdBy: 'heat-to-pan',
    }),
  )
}

function cellValue(cell: Cell, form: ColumnForm): Cell | Date | undefined {
  if (cell === null) return undefined
  return form === 'moment' ? new Date(String(cell)) : cell
}
