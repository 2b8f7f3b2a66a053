// A drawing with its sentence and "the same as a table".
import { html, type TemplateResult } from 'lit-html'
import type { DirectiveResult } from 'lit-html/directive.js'
import { guard } from 'lit-html/directives/guard.js'
import { wear } from '../frame/style.ts'
import css from './figure.css?inline'

wear(css)

export interface Column<Row> {
  head: string | TemplateResult
  /** Right aligned, figures under figures. */
  isNumber?: boolean
  /** Heads its row. */
  isHead?: boolean
  /** Marks as one compares them with iron or carton: one a line, each in one piece. */
  isMarks?: boolean
  cell(row: Row): unknown
}

/** `svg` comes from drawings/, which writes every text into it escaped. */
export function drawn(svg: string): TemplateResult {
  return html`<div .innerHTML=${svg}></div>`
}

export function figure(parts: {
  title: string
  svg: string | TemplateResult
  /** Worked out from the same columns. */
  sentence: string
  table: DirectiveResult
  /** Its table is read at once. */
  isOpen?: boolean
}): TemplateResult {
  const { svg, isOpen = false } = parts
  return html`<figure>
    <figcaption><h3>${parts.title}</h3></figcaption>
    ${typeof svg === 'string' ? drawn(svg) : svg}
    <p class="quiet">${parts.sentence}</p>
    <details ?open=${isOpen}>
      <summary>The same as a table</summary>
      ${parts.table}
    </details>
  </figure>`
}

export interface TableParts<Row> {
  caption: string
  columns: readonly Column<Row>[]
  rows: readonly Row[]
  /** What cells look at beside their row. */
  beside?: readonly unknown[]
  /** Instead of no rows. */
  empty?: string
}

/** Drawn again where something in it is another; then each row that is. */
export function table<Row>(parts: TableParts<Row>): DirectiveResult {
  const { caption, columns, rows, beside = [] } = parts
  const looked = [caption, ...columns.map(({ head }) => head), ...beside]
  return guard([...looked, ...rows], () => tableDrawn(parts, looked))
}

function tableDrawn<Row>(parts: TableParts<Row>, looked: readonly unknown[]): TemplateResult {
  const { caption, columns, rows, empty } = parts
  if (rows.length === 0 && empty) return html`<p>${empty}</p>`
  const beside = looked.slice(1)
  return html`<div class="wide" tabindex="0" role="region" aria-label=${caption}>
    <table>
      <caption>${caption}</caption>
      <thead>
        <tr>
          ${columns.map(({ head, isNumber }) => html`<th scope="col" class=${isNumber ? 'number' : ''}>${head}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${rows.map((row) => guard([row, ...beside], () => rowView(columns, row)))}
      </tbody>
    </table>
  </div>`
}

/** Templates of rows by their cells: one for a row takes a fraction of one for each cell. */
const layouts = new Map<string, TemplateStringsArray>()

function rowView<Row>(columns: readonly Column<Row>[], row: Row): TemplateResult {
  const values = columns.map(({ cell }) => cell(row) ?? '')
  const cells = columns.map((column, i) => {
    const tag = tagOf(column)
    // Words alone need no more than the cell.
    return typeof values[i] === 'string' ? `<${tag} .textContent=|>` : `<${tag}>|`
  })
  const ends = columns.map(({ isHead }) => (isHead ? '</th>' : '</td>'))
  const written = `<tr>${cells.map((cell, i) => cell + ends[i]).join('')}</tr>`
  const known = layouts.get(written)
  if (known) return html(known, ...values)
  const strings = written.split('|')
  const layout = Object.assign(strings, { raw: strings })
  layouts.set(written, layout)
  return html(layout, ...values)
}

function tagOf({ isHead, isNumber, isMarks }: Column<never>): string {
  if (isHead) return 'th scope="row"'
  if (isNumber) return 'td class="number"'
  return isMarks ? 'td class="marks"' : 'td'
}
