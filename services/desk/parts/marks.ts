// Marks as a reader compares them with iron or carton: each in one piece.
import { html, type TemplateResult } from 'lit-html'

export function marksView(marks: readonly string[]): TemplateResult[] {
  return marks.map((mark, i) => html`${i > 0 ? ', ' : ''}<span class="mark">${mark}</span>`)
}
