// What came in since an answer: one line over it, which the reader may act on. Nothing moves by itself.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { News } from '../frame/news.ts'
import { counted } from '../words/number.ts'
import { plain } from '../words/plain.ts'

/** Counts what came since an answer was given. */
export class Since {
  #reports = 0
  #isAnew = false

  /** The answer is new: nothing came since. */
  clear(): void {
    this.#reports = 0
    this.#isAnew = false
  }

  hear(news: News): void {
    if (news.kind === 'reports') this.#reports += news.count
    if (news.kind === 'anew') this.#isAnew = true
  }

  view(again: () => void): TemplateResult | typeof nothing {
    if (this.#reports === 0 && !this.#isAnew) return nothing
    const came = this.#isAnew
      ? 'The record was made anew since this answer.'
      : `${counted(this.#reports, 'report')} came in since this answer.`
    return html`<p class="news" role="status">${came} <button type="button" @click=${again}>Answer again</button></p>`
  }
}

/** What became of an answer, as the house tells it apart from what came in besides. */
export interface Changes {
  reports: number
  /** Such as "+480 castings"; empty where the parts say it. */
  words?: string
  sentence: string
  /** What is another, thing by thing. */
  things: readonly string[]
}

/** One line, and under it what changed; without `again` an answer stays as it was given. */
export function changesView(changes: Changes, again: (() => void) | undefined): TemplateResult {
  const { reports, words, sentence, things } = changes
  const came = `${counted(reports, 'report')} came in that ${reports === 1 ? 'touches' : 'touch'} this answer`
  return html`<p class="news" role="status">${came}${words ? `: ${words}.` : '.'}
      ${again ? html`<button type="button" @click=${again}>Answer again</button>` : nothing}</p>
    <details><summary>Show them</summary><p>${plain(sentence)}</p>
      <ul>${things.map((each) => html`<li>${each}</li>`)}</ul></details>`
}
