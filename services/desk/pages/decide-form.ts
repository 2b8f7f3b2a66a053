// A decision opens under its words: why, the sentence that will be published, and a way to leave it.
import { html, type TemplateResult } from 'lit-html'
import type { Decision } from '../frame/decision.ts'

export function decideForm(parts: {
  title: string
  /** Of the field for the reason. */
  label: string
  /** What pressing comes to. */
  sentence: string
  decision: Decision
  publish(reason: string): unknown
}): TemplateResult {
  const { title, label, sentence, decision, publish } = parts
  const submit = (event: SubmitEvent) => {
    event.preventDefault()
    const said = new FormData(event.currentTarget as HTMLFormElement).get('reason')
    void publish(String(said ?? '').trim())
  }
  const leave = (event: Event) =>
    (event.currentTarget as HTMLElement).closest('details')?.removeAttribute('open')
  return html`<details>
    <summary>${title}</summary>
    <form class="plain decide" @submit=${submit}>
      <label>${label} <input name="reason" required autocomplete="off" /></label>
      <p>${sentence}</p>
      <p><button ?disabled=${decision.isUnderWay}>Publish</button>
        <button type="button" @click=${leave}>Leave it</button></p>
      ${decision.view()}
    </form>
  </details>`
}
