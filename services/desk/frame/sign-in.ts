// Nobody is signed in: a link that the house printed, or a token, lets one in.
import { html, type TemplateResult } from 'lit-html'
import { signIn } from './ask.ts'

export function signInView(started: () => Promise<void>): TemplateResult {
  return html`<main id="sheet">
    <h1 class="question" tabindex="-1">Who is asking?</h1>
    <p>Nobody is signed in. Open the link you were given, or paste the token here.</p>
    ${signInForm(started)}
  </main>`
}

/** Signs in where one stands, so that what was typed on the page is kept. */
export function signInForm(started: () => unknown): TemplateResult {
  const take = async (event: SubmitEvent) => {
    event.preventDefault()
    const form = event.currentTarget as HTMLFormElement
    const token = String(new FormData(form).get('token') ?? '').trim()
    const trouble = form.querySelector('[role=alert]')!
    trouble.textContent = ''
    if (await signIn(token).catch(() => false)) await started()
    else trouble.textContent = 'That token is not taken: ask whoever keeps the house for a new one.'
  }
  return html`<form class="plain sign-in" @submit=${take}>
    <label>Token <input name="token" type="password" autocomplete="off" required /></label>
    <button>Sign in</button>
    <p role="alert"></p>
  </form>`
}
