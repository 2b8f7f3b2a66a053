// A raked table in whole parts, of which rows and columns still close.
import type { Link } from './raking.ts'

/**
 * Whole amounts near those of the links, at least 1 each: rows come to their whole totals wherever the
 * raked ones did and the columns have room. What is missing is given along the links, and where their
 * columns are full, by way of one other row.
 */
export function wholeTable(
  links: readonly Link[],
  raked: Float64Array,
  rows: readonly number[],
  columns: readonly number[],
): number[] {
  const table = new Whole(links, raked, rows, columns)
  table.fill()
  return table.amounts
}

class Whole {
  readonly amounts: number[]
  readonly #links: readonly Link[]
  readonly #raked: Float64Array
  readonly #byRow: number[][]
  readonly #byColumn: number[][]
  /** Still to be given, and room left. */
  readonly #lacks: number[]
  readonly #room: number[]

  constructor(
    links: readonly Link[],
    raked: Float64Array,
    rows: readonly number[],
    columns: readonly number[],
  ) {
    this.#links = links
    this.#raked = raked
    this.amounts = Array.from(raked, (amount) => Math.max(1, Math.floor(amount)))
    this.#byRow = rows.map(() => [])
    this.#byColumn = columns.map(() => [])
    for (const [i, { row, column }] of links.entries()) {
      this.#byRow[row]!.push(i)
      this.#byColumn[column]!.push(i)
    }
    const sum = (list: number[], of: ArrayLike<number>) => list.reduce((all, i) => all + of[i]!, 0)
    this.#lacks = rows.map((total, row) => {
      const list = this.#byRow[row]!
      const short = total - sum(list, raked)
      // Within what raking leaves open the row did close.
      const wanted = short <= list.length ? Math.round(total) : Math.round(sum(list, raked))
      return wanted - sum(list, this.amounts)
    })
    this.#room = columns.map(
      (total, j) => Math.floor(total) - sum(this.#byColumn[j]!, this.amounts),
    )
  }

  fill(): void {
    for (const [row, list] of this.#byRow.entries()) {
      list.sort((a, b) => this.#fraction(b) - this.#fraction(a))
      // Traces add up to a little more than there is: the largest gives way.
      while (this.#lacks[row]! < 0) {
        const largest = list.reduce((a, b) => (this.amounts[b]! > this.amounts[a]! ? b : a))
        if (this.amounts[largest]! <= 1) break
        this.#change(largest, -1)
      }
      while (this.#lacks[row]! > 0 && this.#give(list)) {}
    }
    for (const [row, list] of this.#byRow.entries()) {
      while (this.#lacks[row]! > 0 && (this.#give(list) || this.#giveByWay(row, list))) {}
    }
  }

  #fraction(link: number): number {
    return this.#raked[link]! - this.amounts[link]!
  }

  #give(list: readonly number[]): boolean {
    const link = list.find((i) => this.#room[this.#links[i]!.column]! > 0)
    if (link === undefined) return false
    this.#change(link, 1)
    return true
  }

  /** Another row takes one less where this one wants it, and one more where there is room. */
  #giveByWay(row: number, list: readonly number[]): boolean {
    for (const wanted of list) {
      for (const other of this.#byColumn[this.#links[wanted]!.column]!) {
        const { row: by } = this.#links[other]!
        if (by === row || this.amounts[other]! <= 1) continue
        this.#change(other, -1)
        if (this.#give(this.#byRow[by]!.filter((i) => i !== other))) {
          this.#change(wanted, 1)
          return true
        }
        this.#change(other, 1)
      }
    }
    return false
  }

  #change(link: number, by: 1 | -1): void {
    const { row, column } = this.#links[link]!
    this.amounts[link]! += by
    this.#lacks[row]! -= by
    this.#room[column]! -= by
  }
}
