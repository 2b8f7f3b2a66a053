// What stands around a reach: what came since, and what to ask next.
import { nothing, type TemplateResult } from 'lit-html'
import type { FoundFragment, ReachSinceQuery } from '../../asks/reach.ts'
import { changesView } from '../../parts/since.ts'
import type { Next } from '../../words/next-questions.ts'
import { countWords } from '../../words/number.ts'
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
  return changesView(
    {
      ...{ reports: reports.totalCount, sentence },
      words: `${changes.filter(Boolean).join(', ')} castings`,
      things: things.edges.map(
        ({ node, castingsBefore, castingsNow }) =>
          `${thingWords(node.id)}: ${countWords(castingsBefore)} then, ${countWords(castingsNow)} now`,
      ),
    },
    again,
  )
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
