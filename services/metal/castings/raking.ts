// Raking: amounts along links are scaled until what leaves each source and what arrives at each load
// agree with their counts. It is iterative proportional fitting (Deming and Stephan, 1940), with
// structural zeros where there is no link, and with columns that need not be used up.

/** How much of a column may have gone into a row, before counts are looked at. */
export interface Link {
  row: number
  column: number
  /** Above 0; only proportions matter. */
  weight: number
}

export interface Raked {
  /** By link. Row and column sums are at most what was asked. */
  amounts: Float64Array
  rounds: number
  /** Most that any amount still moved in the last round. */
  moved: number
}

export interface Limits {
  /** Raking ends when no amount moves by more, */
  tolerance: number
  /** or after so many rounds. */
  rounds: number
}

export const RAKING: Limits = { tolerance: 0.0005, rounds: 500 }

/**
 * Amounts nearest to the weights by relative entropy of which every row comes to its total and no
 * column to more than its own. Where that cannot be, columns decide and rows fall short. A column
 * without end is `Infinity`.
 */
export function rake(
  links: readonly Link[],
  rows: readonly number[],
  columns: readonly number[],
  { tolerance, rounds }: Limits = RAKING,
): Raked {
  const amounts = Float64Array.from(links, ({ weight }) => weight)
  const before = new Float64Array(links.length)
  // By column: how far it is scaled down. It may grow again, but not beyond its weights.
  const scaled = new Float64Array(columns.length).fill(1)
  let [round, moved] = [0, Number.POSITIVE_INFINITY]
  while (round < rounds && moved > tolerance) {
    round++
    before.set(amounts)
    fitRows(links, amounts, rows)
    fitColumns(links, amounts, columns, scaled)
    moved = 0
    for (let i = 0; i < amounts.length; i++) {
      moved = Math.max(moved, Math.abs(amounts[i]! - before[i]!))
    }
  }
  return { amounts, rounds: round, moved }
}

function fitRows(links: readonly Link[], amounts: Float64Array, rows: readonly number[]): void {
  const sums = new Float64Array(rows.length)
  for (const [i, { row }] of links.entries()) sums[row]! += amounts[i]!
  for (const [i, { row }] of links.entries()) {
    if (sums[row]! > 0) amounts[i]! *= rows[row]! / sums[row]!
  }
}

function fitColumns(
  links: readonly Link[],
  amounts: Float64Array,
  columns: readonly number[],
  scaled: Float64Array,
): void {
  const sums = new Float64Array(columns.length)
  for (const [i, { column }] of links.entries()) sums[column]! += amounts[i]!
  const factors = new Float64Array(columns.length).fill(1)
  for (const [j, total] of columns.entries()) {
    if (!(sums[j]! > 0)) continue
    const now = Math.min(1, (scaled[j]! * total) / sums[j]!)
    // Where rows ask for more than there is, the scale falls for ever: only its ratio counts.
    factors[j] = now / scaled[j]!
    scaled[j] = Math.max(now, 1e-200)
  }
  for (const [i, { column }] of links.entries()) amounts[i]! *= factors[column]!
}
