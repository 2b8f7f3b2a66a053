// What became of origins since they were told: which parts are others.
import { nothing, type TemplateResult } from 'lit-html'
import type { OriginsSinceQuery } from '../../asks/origins.ts'
import { changesView } from '../../parts/since.ts'
import { chanceWords, shareWords } from '../../words/number.ts'
import { thingWords } from '../../words/standing.ts'

/** Nothing where no report came in that touches them. */
export function originChanges(
  answer: OriginsSinceQuery['answer'] | undefined,
  again: (() => void) | undefined,
): TemplateResult | typeof nothing {
  const since = answer?.__typename === 'Origins' ? answer.since : null
  if (!since || since.reports.totalCount === 0) return nothing
  const things = since.things.edges.map(({ node, before, now }) => {
    const words = node.id.startsWith('lot:') ? shareWords : chanceWords
    return `${thingWords(node.id)}: ${words(before)} then, ${words(now)} now`
  })
  return changesView({ reports: since.reports.totalCount, sentence: since.sentence, things }, again)
}
