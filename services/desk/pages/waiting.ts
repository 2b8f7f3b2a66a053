// What waits for me, most urgent first: sentences with a time, each opening the page that settles it.
import { html, nothing, type TemplateResult } from 'lit-html'
import { askWaiting, type WaitingQuery, type WaitingQueryVariables } from '../asks/waiting.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { Since } from '../parts/since.ts'
import { momentWords } from '../words/moment.ts'
import { nextOf } from '../words/next-questions.ts'
import { counted } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import css from './waiting.css?inline'

wear(css)

type Waits = WaitingQuery['waiting']['edges'][number]['node']

export function openWaiting(desk: Desk): Page {
  return new WaitingPage(desk)
}

class WaitingPage implements Page {
  readonly #desk: Desk
  readonly #asked: Asked<WaitingQuery, WaitingQueryVariables>
  readonly #since = new Since()

  constructor(desk: Desk) {
    this.#desk = desk
    this.#asked = new Asked(askWaiting, () => desk.redraw())
    void this.#ask()
  }

  title(): string {
    return 'What waits for me?'
  }

  /** The list stays as it is until the reader wants it anew. */
  hear(news: News): void {
    this.#since.hear(news)
  }

  view(): TemplateResult {
    return sheet<WaitingQuery>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`What waits for me, most urgent first?`,
      empty: html``,
      said: (data) => this.#said(data),
    })
  }

  #ask(after: string | null = null): Promise<void> {
    this.#since.clear()
    return this.#asked.ask({ after })
  }

  #said({ waiting }: WaitingQuery): Said {
    const { totalCount, edges, pageInfo } = waiting
    const more = html`<button type="button" @click=${() => this.#ask(pageInfo.endCursor)}>The next ones</button>`
    return {
      answer:
        totalCount === 0
          ? 'Nothing waits for you.'
          : `${counted(totalCount, 'thing waits', 'things wait')} for you.`,
      since: this.#since.view(() => void this.#ask()),
      body: html`
        <ol class="waits">${edges.map(({ node }) => waitsView(node))}</ol>
        ${pageInfo.hasNextPage ? more : nothing}
      `,
      next: [{ sentence: 'What else may I ask?', address: '/' }],
    }
  }
}

function waitsView(waits: Waits): TemplateResult {
  const { sentence, settledBy } = waits
  const next = nextOf(settledBy)
  return html`<li>
    <p class="when">${whenView(waits)}</p>
    <p class="what">${plain(sentence)}
      ${next ? html`<a href=${next.address}>${plain(next.sentence)}</a>` : settledBy.sentence}
    </p>
  </li>`
}

function whenView({ due, overdue, since, source }: Waits): TemplateResult {
  if (due)
    return html`${overdue ? html`<strong>passed</strong> ` : 'by '}${momentWords(due)}${source ? html`<span class="quiet">${source}</span>` : nothing}`
  return html`${since ? `since ${momentWords(since)}` : 'when there is time'}`
}
