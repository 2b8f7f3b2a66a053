// An answer about origins as its parts read it.
import { html, type TemplateResult } from 'lit-html'
import type { BathAroundQuery, OriginsQuery } from '../../asks/origins.ts'
import { thingWords } from '../../words/standing.ts'

export type Found = Extract<OriginsQuery['origins'], { __typename: 'Origins' }>
export type Bath = NonNullable<
  Extract<NonNullable<BathAroundQuery['node']>, { __typename: 'Heat' }>['bath']
>

/** A thing by its name, which asks where it came from. */
export function linkTo(id: string): TemplateResult {
  return html`<a href=${originsOf(id)}>${thingWords(id)}</a>`
}

export function originsOf(id: string): string {
  return `/origins?${new URLSearchParams({ of: id })}`
}
