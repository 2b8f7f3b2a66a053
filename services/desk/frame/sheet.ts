// One page as everybody reads it: question, answer, gap line, drawings and tables, what it rests on, what to
// ask next, cautions. All the ways of having no answer are said here, so that a page draws answers only.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { DirectiveResult } from 'lit-html/directive.js'
import { momentWords } from '../words/moment.ts'
import type { Next } from '../words/next-questions.ts'
import { ownersOf } from '../words/owners.ts'
import { failureWords, SIGNED_OUT, STILL_WORKING, WORKING } from '../words/states.ts'
import type { Asked } from './asked.ts'
import type { Desk } from './page.ts'
import type { paper as Paper } from './paper.ts'
import { signInForm } from './sign-in.ts'

type Part = TemplateResult | DirectiveResult | typeof nothing

/** Nobody waits for paper: it comes after the answer. */
let paper: typeof Paper | undefined

/** Rejects where there is no connection. */
export async function bringPaper(): Promise<void> {
  paper = (await import('./paper.ts')).paper
}

export interface Said {
  /** Read on arrival. A heading of its own, such as one of four, comes before it. */
  answer: string | TemplateResult
  /** Lines under the answer: what is missing. */
  gaps?: readonly string[]
  /** "So far" stands before an answer over gaps. */
  isWhole?: boolean
  /** What came since, with how to see it. */
  since?: Part
  /** Drawings and tables. */
  body?: Part
  rests?: Part
  next?: readonly Next[]
  cautions?: readonly { sentence: string }[]
  /** Of which moment it is. */
  asOf?: string
  /** Number of the answer: on paper, with a code that opens it again. */
  number?: string
  /** Address that the code on paper opens, of what has no number. */
  opens?: string
}

/** For paper, of what has no number: as it stood when it was asked; the code asks how it stands. */
export function asItStood(
  opens: string,
  { answeredAt }: { answeredAt: Date | undefined },
): Pick<Said, 'asOf' | 'opens'> {
  return { opens, ...(answeredAt && { asOf: answeredAt.toISOString() }) }
}

export interface SheetParts<Data> {
  desk: Desk
  /** The question, with its settings in it. */
  question: TemplateResult
  asked: Pick<Asked<Data, never>, 'standing' | 'data'> & { again(): unknown; stop(): void }
  /** Nothing is asked yet: what could be, with one example to press. */
  empty: TemplateResult
  /** "Still working: 512 factors". */
  working?: string
  said(data: Data): Said
}

/** A page whose answer is the answer to one question. */
export function sheet<Data>(parts: SheetParts<Data>): TemplateResult {
  const { asked, question, empty } = parts
  const { data } = asked
  return html`
    <main id="sheet">
      <h1 class="question" tabindex="-1">${question}</h1>
      ${stateView(parts)}
      ${data === undefined ? (asked.standing.is === 'nothing' ? empty : nothing) : saidView(parts.said(data))}
    </main>
  `
}

/** Why there is no answer yet, or none. */
export function stateView({
  desk,
  asked,
  working,
}: Pick<SheetParts<unknown>, 'desk' | 'working'> & {
  asked: Pick<SheetParts<unknown>['asked'], 'standing' | 'again' | 'stop'>
}): Part {
  const { standing } = asked
  if (standing.is === 'asking' && standing.shown) {
    const more = standing.slow
      ? html` <button type="button" @click=${() => asked.stop()}>Stop</button>`
      : nothing
    const words = standing.slow ? [STILL_WORKING, working].filter(Boolean).join(': ') : WORKING
    return html`<p class="state" role="status">${words}${more}</p>`
  }
  const askAgain = html` <button type="button" @click=${() => asked.again()}>Ask again</button>`
  if (standing.is === 'stopped') return html`<p class="state" role="status">Stopped.${askAgain}</p>`
  if (standing.is !== 'failed') return nothing
  const { failure } = standing
  if (failure.kind === 'signed-out')
    return html`<div class="state trouble" role="alert">${SIGNED_OUT}${signInForm(() => asked.again())}</div>`
  const again =
    failure.kind === 'broken' || failure.kind === 'disconnected' || failure.kind === 'busy'
      ? askAgain
      : nothing
  return html`<p class="state trouble" role="alert">${failureWords(failure, ownersOf(location.pathname, desk.who.roles))}${again}</p>`
}

/** What was answered. */
export function saidView(said: Said): TemplateResult {
  const {
    answer,
    gaps = [],
    isWhole = true,
    since = nothing,
    body = nothing,
    rests = nothing,
  } = said
  return html`
    ${since}
    <h2 class="answer" tabindex="-1">${answer}</h2>
    ${gaps.map((gap) => html`<p class=${isWhole ? 'gap' : 'gap open'}>${gap}</p>`)}
    <div class="body">${body}</div>
    <footer class="foot">
      ${rests}
      ${said.next?.length ? nextView(said.next) : nothing}
      ${
        said.cautions?.length
          ? html`<section aria-label="Cautions" class="cautions">
            ${said.cautions.map(({ sentence }) => html`<p>${sentence}</p>`)}
          </section>`
          : nothing
      }
      ${said.asOf && (said.number || said.opens) ? (paper?.(said, said.asOf) ?? nothing) : nothing}
      ${said.asOf ? html`<p class="quiet">As known ${momentWords(said.asOf)}.</p>` : nothing}
    </footer>
  `
}

function nextView(next: readonly Next[]): TemplateResult {
  return html`<nav aria-label="Ask next" class="next">
    <h3>Ask next</h3>
    <ul>
      ${next.map(({ sentence, address }) => html`<li><a href=${address}>${sentence}</a></li>`)}
    </ul>
  </nav>`
}
