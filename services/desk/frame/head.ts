// The head of every page: the field for the thing in hand, and how far the reports are in.
import { html, nothing, type TemplateResult } from 'lit-html'
import { clockWords } from '../words/moment.ts'
import { disconnectedWords, SIGNED_OUT } from '../words/states.ts'

/** Unit: signs. */
const LONGEST_TEXT = 8_000

export interface HeadParts {
  inHand: string
  /** Newest moment up to which every station is heard. */
  inUpTo: string | undefined
  disconnectedSince: Date | undefined
  known: Date | undefined
  /** The form to sign in by, when one is signed out. */
  signInAgain: TemplateResult | undefined
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
          spellcheck="false" maxlength=${LONGEST_TEXT} placeholder="type, scan or paste what you hold"
          .value=${parts.inHand.replace(/\s+/g, ' ')} @paste=${pasted(parts.take)}
        />
        <button>Look</button>
      </form>
      <p class="in-up-to">${inUpTo ? html`Reports in up to <time datetime=${inUpTo}>${clockWords(inUpTo)}</time>` : nothing}</p>
      ${disconnectedSince ? html`<p class="state trouble" role="status">${disconnectedWords(disconnectedSince, parts.known)}</p>` : nothing}
      ${parts.signInAgain ? html`<div class="state trouble" role="alert">${SIGNED_OUT}${parts.signInAgain}</div>` : nothing}
      ${parts.news}
    </header>
  `
}

/** Several lines are taken as they are: a field of one line would run their words together. */
function pasted(take: (text: string) => void) {
  return (event: ClipboardEvent) => {
    const text = event.clipboardData?.getData('text/plain').trim() ?? ''
    if (!text.includes('\n')) return
    event.preventDefault()
    take(text.slice(0, LONGEST_TEXT))
  }
}

function taken(take: (text: string) => void) {
  return (event: SubmitEvent) => {
    event.preventDefault()
    const text = new FormData(event.currentTarget as HTMLFormElement).get('text')
    take(String(text ?? '').trim())
  }
}
