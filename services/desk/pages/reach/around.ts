// What stands around a reach: what came since, and what to ask next.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { FoundFragment, ReachSinceQuery } from '../../asks/reach.ts'
import type { Next } from '../../words/next-questions.ts'
import { counted, countWords } from '../../words/number.ts'
import { thingWords } from '../../words/standing.ts'

type Since = NonNullable<
  Extract<NonNullable<ReachSinceQuery['answer']>, { __typename: 'Reach' }>['since']
>

/** One line of what came since, and what it changed; nothing where it changed nothing. */
export function sinceView(
  since: Since,
  again: (() => void) | undefined,
): TemplateResult | typeof nothing {
  const { joined, left, reports, things, sentence } = since
  if (joined === 0 && left === 0) return nothing
  const changes = [joined > 0 && `+${countWords(joined)}`, left > 0 && `\u2212${countWords(left)}`]
  return html`<p class="news" role="status">${counted(reports.totalCount, 'report')} came in that touch this answer:
      ${changes.filter(Boolean).join(', ')} castings.
      ${again ? html`<button type="button" @click=${again}>Answer again</button>` : nothing}</p>
    <details><summary>Show them</summary><p>${sentence}</p>
      <ul>${things.edges.map(
        ({ node, castingsBefore, castingsNow }) =>
          html`<li>${thingWords(node.id)}: ${countWords(castingsBefore)} then, ${countWords(castingsNow)} now</li>`,
      )}</ul></details>`
}

export function nextOf({ packs, from }: FoundFragment): Next[] {
  const [likeliest] = packs.edges
  const pack = likeliest && {
    sentence: `Where did ${thingWords(likeliest.node.id)}, the likeliest, come from?`,
    address: `/origins?${new URLSearchParams({ of: likeliest.node.id })}`,
  }
  const [first] = from
  const origins = first && {
    sentence: `What is ${thingWords(first.id)} made of?`,
    address: `/origins?${new URLSearchParams({ of: first.id })}`,
  }
  return [pack, first?.id.startsWith('lot:') ? undefined : origins].filter(
    (next) => next !== undefined,
  )
}
