// Nothing is asked yet: where a mark sits, and those asked before in this tab.
import { html, nothing, type TemplateResult } from 'lit-html'
import { markPlaces } from '../../drawings/mark-places.ts'
import { drawn } from '../../parts/figure.ts'

/** `before` newest first. */
export function emptyView(
  before: readonly string[],
  room: number,
  address: (mark: string) => string,
): TemplateResult {
  const links = before.map(
    (mark, i) => html`${i > 0 ? ', ' : ''}<a class="mark" href=${address(mark)}>${mark}</a>`,
  )
  return html`<p>The mark stands in one of three places.</p>
    ${drawn(markPlaces(room))}
    ${links.length > 0 ? html`<p>Asked before: ${links}</p>` : nothing}`
}
