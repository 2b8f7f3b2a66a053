// Rows as comma-separated text. Source: RFC 4180.

export type Cell = string | number | boolean | null

/** One row with its line end. */
export function csvRow(cells: readonly Cell[]): string {
  return `${cells.map(cellText).join(',')}\r\n`
}

/**
 * Text that a spreadsheet would take for a formula, also behind blanks and in full width, is put out of
 * its reach by an apostrophe; numbers stay what they are. Source: OWASP, CSV Injection (from memory).
 */
function cellText(cell: Cell): string {
  if (cell === null) return ''
  if (typeof cell !== 'string') return String(cell)
  const safe = /^\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|^[\t\r\n]/.test(cell) ? `'${cell}` : cell
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
}
