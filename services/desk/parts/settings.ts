// The underlined words of a question: the only settings of a page.
import { html, type TemplateResult } from 'lit-html'

export interface Option {
  value: string
  words: string
}

/** One of several words. What is set is always among them. */
export function choice(parts: {
  name: string
  label: string
  value: string
  options: readonly Option[]
}): TemplateResult {
  const { name, label, value } = parts
  const isListed = parts.options.some((option) => option.value === value)
  const options = isListed ? parts.options : [{ value, words: value }, ...parts.options]
  return html`<select name=${name} aria-label=${label} .value=${value}>
    ${options.map((option) => html`<option value=${option.value} ?selected=${option.value === value}>${option.words}</option>`)}
  </select>`
}

/** A day, as the reader's calendar has it. */
export function day(parts: { name: string; label: string; value: string }): TemplateResult {
  return html`<input type="date" name=${parts.name} aria-label=${parts.label} .value=${parts.value} required />`
}

/** The sentence with its settings; what was set is handed over when it is asked. */
export function sentence(words: TemplateResult, take: (said: FormData) => void): TemplateResult {
  const submit = (event: SubmitEvent) => {
    event.preventDefault()
    take(new FormData(event.currentTarget as HTMLFormElement))
  }
  return html`<form class="sentence" @submit=${submit}>${words} <button>Ask</button></form>`
}
