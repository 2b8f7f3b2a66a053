// The head of every page: the field for the thing in hand, and how far the reports are in.
import { html, nothing, type TemplateResult } from 'lit-html'
import { clockWords } from '../words/moment.ts'
import { disconnectedWords } from '../words/states.ts'

export interface HeadParts {
  inHand: string
  /** Newest moment up to which every station is heard. */
  inUpTo: string | undefined
  disconnectedSince: Date | undefined
  known: Date | undefined
  /** One line of what came, with what to do about it. */
  news: TemplateResult | typeof nothing
  roles: readonly string[]
  take(text: string): void
}

export function head(parts: HeadParts): TemplateResult {
  const { inUpTo, disconnectedSince } = parts
  return html`
    <header class="head">
      <form role="search" @submit=${taken(parts.take)}>
        <label for="in-hand">In hand</label>
        <input
          id="in-hand" name="text" type="text" accesskey="i" autocomplete="off" autocapitalize="characters"
          spellcheck="false" maxlength="8000" placeholder="type, scan or paste what you hold"
          .value=${parts.inHand}
        />
        <button>Look</button>
      </form>
      <p class="in-up-to">${inUpTo ? html`Reports in up to <time datetime=${inUpTo}>${clockWords(inUpTo)}</time>` : nothing}</p>
      ${disconnectedSince ? html`<p class="state trouble" role="status">${disconnectedWords(disconnectedSince, parts.known)}</p>` : nothing}
      ${parts.news}
    </header>
  `
}

function taken(take: (text: string) => void) {
  return (event: SubmitEvent) => {
    event.preventDefault()
    const text = new FormData(event.currentTarget as HTMLFormElement).get('text')
    take(String(text ?? '').trim())
  }
}
