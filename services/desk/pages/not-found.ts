// No such thing, several of them, or a trail that stops: alike for every question about a thing.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { Desk } from '../frame/page.ts'
import type { Said } from '../frame/sheet.ts'
import { type RestsOn, restsView } from '../parts/rests.ts'
import { chanceWords } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import { thingWords } from '../words/standing.ts'

export type NotFound =
  | { __typename: 'NotKnown'; sentence: string; near: readonly string[] }
  | {
      __typename: 'Unclear'
      candidates: readonly { because: string; fit: number; thing: { id: string } }[]
    }
  | {
      __typename: 'TrailBroken'
      sentence: string
      knownUpTo: readonly { id: string }[]
      completeness: RestsOn & { sentence: string }
    }

/** `address` asks the same of another thing. */
export function notFoundSaid(outcome: NotFound, address: (id: string) => string, desk: Desk): Said {
  const link = (id: string) => html`<a href=${address(id)}>${thingWords(id)}</a>`
  switch (outcome.__typename) {
    case 'NotKnown':
      return {
        answer: plain(outcome.sentence),
        body:
          outcome.near.length > 0
            ? html`<p>Easily mixed up: ${listed(outcome.near.map(link))}</p>`
            : nothing,
      }
    case 'Unclear':
      return {
        answer: 'It may be one of these',
        body: html`<ul class="candidates">
          ${outcome.candidates.map(
            ({ because, fit, thing }) =>
              html`<li>${link(thing.id)}: ${plain(because)} Fits ${chanceWords(fit)}.</li>`,
          )}
        </ul>`,
      }
    case 'TrailBroken': {
      const { sentence, knownUpTo, completeness } = outcome
      const known = knownUpTo.length > 0 ? listed(knownUpTo.map(({ id }) => link(id))) : 'nothing'
      return {
        answer: plain(sentence),
        ...{ isWhole: false, gaps: [completeness.sentence] },
        body: html`<p>Known up to there: ${known}</p>`,
        rests: restsView(completeness, desk),
        asOf: completeness.asOf,
      }
    }
  }
}

function listed(links: readonly TemplateResult[]): TemplateResult[] {
  return links.map((link, i) => html`${i > 0 ? ', ' : ''}${link}`)
}
