// A drawing with its sentence and "the same as a table".
import { html, nothing, type TemplateResult } from 'lit-html'
import { wear } from '../frame/style.ts'
import css from './drawing.css?inline'

wear(css)

export interface Column<Row> {
  head: string | TemplateResult
  /** Right aligned, figures under figures. */
  isNumber?: boolean
  /** Heads its row. */
  isHead?: boolean
  cell(row: Row): unknown
}

/** `svg` comes from drawings/, which writes every text into it escaped. */
export function drawn(svg: string): TemplateResult {
  return html`<div .innerHTML=${svg}></div>`
}

export function figure(parts: {
  title: string
  svg: string
  /** Worked out from the same columns. */
  sentence: string
  table: TemplateResult
}): TemplateResult {
  return html`<figure>
    <figcaption><h3>${parts.title}</h3></figcaption>
    ${drawn(parts.svg)}
    <p class="quiet">${parts.sentence}</p>
    <details>
      <summary>The same as a table</summary>
      ${parts.table}
    </details>
  </figure>`
}

export function table<Row>(parts: {
  caption: string
  columns: readonly Column<Row>[]
  rows: readonly Row[]
  /** Instead of no rows. */
  empty?: string
}): TemplateResult {
  const { caption, columns, rows, empty } = parts
  if (rows.length === 0 && empty) return html`<p>${empty}</p>`
  return html`<div class="wide" tabindex="0" role="region" aria-label=${caption}>
    <table>
      <caption>${caption}</caption>
      <thead>
        <tr>
          ${columns.map(({ head, isNumber }) => html`<th scope="col" class=${isNumber ? 'number' : ''}>${head}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${rows.map((row) => html`<tr>${columns.map((column) => cellView(column, row))}</tr>`)}
      </tbody>
    </table>
  </div>`
}

function cellView<Row>({ cell, isHead, isNumber }: Column<Row>, row: Row): TemplateResult {
  const value = cell(row) ?? nothing
  return isHead
    ? html`<th scope="row">${value}</th>`
    : html`<td class=${isNumber ? 'number' : ''}>${value}</td>`
}
