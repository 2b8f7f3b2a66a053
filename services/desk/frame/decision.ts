// A decision on its way: shown before it is made, sent once however often it is pressed, kept by nobody.
import { html, nothing, type TemplateResult } from 'lit-html'
import { momentWords } from '../words/moment.ts'
import { failureWords, NOT_SENT, SIGNED_OUT } from '../words/states.ts'
import { type Ask, ask, type Failure, Unanswered } from './ask.ts'
import { newReportNumber } from './report-number.ts'
import { signInForm } from './sign-in.ts'

/** What the house makes of it, of whichever document. */
export type Outcome =
  | { __typename: 'Published'; sentence: string; matter?: string; recordedAt: string }
  | { __typename: 'AlreadyPublished'; sentence: string; recordedAt: string }
  | { __typename: 'LookAgain'; changes?: { sentence: string } }
  | { __typename: 'Refused'; problems?: readonly { field: string; sentence: string }[] }

type Standing =
  | { is: 'not made' }
  | { is: 'under way' }
  | { is: 'made'; outcome: Outcome }
  | { is: 'failed'; failure: Failure }

/** One decision of a page. The same number goes with each try, so the house counts it once. */
export class Decision {
  #standing: Standing = { is: 'not made' }
  #reportId = newReportNumber()
  readonly #redraw: () => void

  constructor(redraw: () => void) {
    this.#redraw = redraw
  }

  get isUnderWay(): boolean {
    return this.#standing.is === 'under way'
  }

  get outcome(): Outcome | undefined {
    return this.#standing.is === 'made' ? this.#standing.outcome : undefined
  }

  async publish<Data, Variables>(
    what: Ask<Data, Variables>,
    variables: (reportId: string) => Variables,
    outcomeOf: (data: Data) => Outcome,
  ): Promise<void> {
    if (this.isUnderWay) return
    this.#set({ is: 'under way' })
    try {
      const outcome = outcomeOf(await ask(what, variables(this.#reportId)))
      this.#set({ is: 'made', outcome })
      // What was not taken may be put right and sent as another.
      if (outcome.__typename === 'Refused' || outcome.__typename === 'LookAgain') this.#renew()
    } catch (error) {
      if (!(error instanceof Unanswered)) throw error
      this.#set({ is: 'failed', failure: error.failure })
    }
  }

  /** Forgets what became of it: the next one is another. */
  clear(): void {
    this.#renew()
    this.#set({ is: 'not made' })
  }

  /** What became of it, in a line to stand under its button. */
  view(): TemplateResult | typeof nothing {
    const standing = this.#standing
    if (standing.is === 'not made') return nothing
    if (standing.is === 'under way') return html`<p role="status">Publishing</p>`
    if (standing.is === 'failed') {
      if (standing.failure.kind === 'signed-out')
        return html`<div class="state trouble" role="alert">${SIGNED_OUT} Then press again.${signInForm(() => this.clear())}</div>`
      const words = failureWords(standing.failure)
      const isLost = standing.failure.kind === 'disconnected'
      return html`<p class="state trouble" role="alert">${isLost ? NOT_SENT : words}</p>`
    }
    return outcomeView(standing.outcome)
  }

  #renew(): void {
    this.#reportId = newReportNumber()
  }

  #set(standing: Standing): void {
    this.#standing = standing
    this.#redraw()
  }
}

function outcomeView(outcome: Outcome): TemplateResult {
  switch (outcome.__typename) {
    case 'Published':
      return html`<p role="status"><strong>Published.</strong> ${outcome.sentence}</p>`
    case 'AlreadyPublished':
      return html`<p role="status"><strong>Already published</strong> ${momentWords(outcome.recordedAt)}. ${outcome.sentence}</p>`
    case 'LookAgain':
      return html`<p role="alert"><strong>Look again.</strong> ${outcome.changes?.sentence ?? ''}</p>`
    case 'Refused':
      return html`<div role="alert"><strong>Not possible.</strong>
        ${(outcome.problems ?? []).map(({ field, sentence }) => html`<p>${field}: ${sentence}</p>`)}
      </div>`
  }
}
