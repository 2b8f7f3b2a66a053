// A pack that was scanned and is not on the list: how it stands.
import { html, type TemplateResult } from 'lit-html'
import { askInquiry, type InquiryQuery, type InquiryQueryVariables } from '../../asks/inquiry.ts'
import { Asked } from '../../frame/asked.ts'
import type { Desk } from '../../frame/page.ts'

export class Stray {
  readonly #text: string
  readonly #asked: Asked<InquiryQuery, InquiryQueryVariables>

  constructor(desk: Desk, text: string) {
    this.#text = text
    this.#asked = new Asked(askInquiry, () => desk.redraw())
    void this.#asked.ask({ mark: text, customer: null })
  }

  view(): TemplateResult {
    return html`<div class="stray" role="status"><p><strong>NOT ON THE LIST: leave it</strong></p>
      <p>${this.#standing()}</p>
      <p><a href=${`/?${new URLSearchParams({ hand: this.#text })}`}>What is ${this.#text}?</a></p></div>`
  }

  #standing(): string {
    const { standing } = this.#asked
    if (standing.is === 'failed' || standing.is === 'stopped')
      return 'How it stands is not known from here: the house was not reached.'
    if (standing.is !== 'answered') return 'How it stands is being asked.'
    const { inquiry } = standing.data
    switch (inquiry.__typename) {
      case 'Inquiry':
        return inquiry.because
      case 'MarkUnclear':
        return `It may be one of ${inquiry.candidates.length}: read the mark again.`
      case 'MarkNotFound':
        return 'No pack or pan is known by it.'
    }
  }
}
