// A caller reads a mark: may the rep reassure? One mark, one answer to be read aloud, one of four headings.
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askInquiry,
  askWriteDown,
  type InquiryQuery,
  type InquiryQueryVariables,
} from '../asks/inquiry.ts'
import { Asked } from '../frame/asked.ts'
import { Decision } from '../frame/decision.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { dayWords, stretchWords } from '../words/moment.ts'
import { counted } from '../words/number.ts'
import { inquiryOf } from './inquiry/question.ts'
import css from './inquiry.css?inline'

wear(css)

type Outcome = InquiryQuery['inquiry']
type Found = Extract<Outcome, { __typename: 'Inquiry' }>
type Unclear = Extract<Outcome, { __typename: 'MarkUnclear' }>
type Missing = Extract<Outcome, { __typename: 'MarkNotFound' }>

const HEADINGS = {
  MAY: 'You may reassure',
  NOT_YET: 'Not yet: do not reassure',
  RECALLED: 'Recalled',
  CANNOT_SAY: 'Cannot say: ask quality',
} as const

/** News are hints and may be lost; what is read to a caller is asked again so often. Unit: ms. */
const AGAIN_EVERY_MS = 10_000

/** Marks asked in this tab, newest first: a caller calls again. */
const ASKED = 'asked'
const MOST_KEPT = 5

/** As the house takes them. Unit: signs. */
const MOST_WORDS = 2_000

export function openInquiry(desk: Desk, parameters: URLSearchParams): Page {
  return new InquiryPage(desk, parameters)
}

class InquiryPage implements Page {
  readonly #desk: Desk
  readonly #asked: Asked<InquiryQuery, InquiryQueryVariables>
  readonly #complaint: Decision
  #mark: string
  #customer: string
  /** Of a mail that was held, to be written down. */
  readonly #words: string
  /** Where no mark is told: where to look for one. */
  #start: TemplateResult | typeof nothing = nothing
  /** What the rep was told to say before news changed it: struck through, not removed. */
  #before: Found | undefined
  #hurt = false
  /** Nothing is heard: a hold may have been placed meanwhile, so nobody may be reassured. */
  #isCut = false
  readonly #again = setInterval(() => {
    const { standing } = this.#asked
    const isLost = standing.is === 'failed' && standing.failure.kind !== 'signed-out'
    if (standing.is === 'answered' || isLost) void this.#askAgain()
  }, AGAIN_EVERY_MS)

  constructor(desk: Desk, parameters: URLSearchParams) {
    this.#desk = desk
    const { mark, customer } = inquiryOf(parameters)
    this.#mark = mark
    this.#customer = customer ?? ''
    const held = parameters.get('hand') ?? ''
    this.#words = held === this.#mark ? '' : held.slice(0, MOST_WORDS)
    this.#asked = new Asked(askInquiry, () => desk.redraw())
    this.#complaint = new Decision(() => desk.redraw())
    if (this.#mark !== '') void this.#ask()
    else void this.#bringStart()
  }

  title(): string {
    return this.#mark === '' ? 'What is this mark?' : `May I reassure about ${this.#mark}?`
  }

  view(): TemplateResult {
    return sheet<InquiryQuery>({
      desk: this.#desk,
      question: this.#question(),
      asked: this.#asked,
      empty: html`<section class="empty">${this.#start}</section>`,
      said: ({ inquiry }) => this.#said(inquiry),
    })
  }

  /** A hold placed during the call changes the heading, and is said at once. */
  hear(news: News): void {
    if (news.kind === 'disconnected' && !this.#isCut) this.#cut()
    const isBack = this.#isCut && news.kind === 'connected'
    if (isBack) this.#isCut = false
    if (!isBack && news.kind !== 'decided' && news.kind !== 'anew') return
    if (this.#asked.data !== undefined) void this.#askAgain()
  }

  close(): void {
    clearInterval(this.#again)
    this.#asked.stop()
  }

  #cut(): void {
    this.#isCut = true
    const known = found(this.#asked.data)
    if (known?.reassurance === 'MAY') this.#desk.say(HEADINGS.CANNOT_SAY, true)
    this.#desk.redraw()
  }

  async #askAgain(): Promise<void> {
    const before = found(this.#asked.data)
    await this.#asked.again()
    const now = found(this.#asked.data)
    if (!before || !now || before.reassurance === now.reassurance) return
    this.#before = before
    this.#desk.say(`${HEADINGS[now.reassurance]}. ${now.say.join(' ')}`, true)
    this.#desk.redraw()
  }

  async #ask(): Promise<void> {
    this.#before = undefined
    const marks = [this.#mark, ...askedBefore().filter((mark) => mark !== this.#mark)]
    sessionStorage.setItem(ASKED, JSON.stringify(marks.slice(0, MOST_KEPT)))
    await this.#asked.ask({ mark: this.#mark, customer: this.#customer || null })
  }

  #question(): TemplateResult {
    const take = (event: SubmitEvent) => {
      event.preventDefault()
      const said = new FormData(event.currentTarget as HTMLFormElement)
      this.#mark = String(said.get('mark') ?? '').trim()
      this.#customer = String(said.get('customer') ?? '').trim()
      if (this.#mark === '') return
      const kept = { mark: this.#mark, ...(this.#customer && { customer: this.#customer }) }
      this.#desk.keep(new URLSearchParams(kept))
      void this.#ask()
    }
    return html`<form class="plain" @submit=${take}>
      <label>Mark as the caller reads it
        <input name="mark" .value=${this.#mark} autocomplete="off" autocapitalize="characters" spellcheck="false" aria-describedby="mark-help" />
      </label>
      <span id="mark-help" class="quiet">? for a sign nobody can read</span>
      <label>Caller's shop
        <input name="customer" .value=${this.#customer} autocomplete="off" spellcheck="false" />
      </label>
      <button>May I reassure?</button>
    </form>`
  }

  async #bringStart(): Promise<void> {
    const { emptyView } = await import('./inquiry/empty.ts')
    this.#start = emptyView(askedBefore(), this.#desk.room, (mark) => this.#address(mark))
    this.#desk.redraw()
  }

  #said(outcome: Outcome): Said {
    if (outcome.__typename === 'Inquiry') return this.#foundSaid(outcome)
    if (outcome.__typename === 'MarkUnclear') return this.#unclearSaid(outcome)
    return this.#missingSaid(outcome)
  }

  #foundSaid(inquiry: Found): Said {
    const isOld = this.#isCut || this.#isUnheard
    const old = isOld ? inquiry : this.#before
    const heading = isOld ? HEADINGS.CANNOT_SAY : HEADINGS[inquiry.reassurance]
    const isWhole = inquiry.completeness.verdict === 'WHOLE'
    return {
      answer: html`<span class="heading">${heading}</span> <span class="of">${ofWords(inquiry)}</span>`,
      gaps: isWhole ? [] : [inquiry.completeness.sentence],
      isWhole,
      body: html`
        ${old ? html`<p class="say old"><span class="aloud">No longer to be said:</span> <s>${old.say.join(' ')}</s></p>` : nothing}
        ${isOld ? nothing : sayView(inquiry.say)}
        <dl class="facts">
          <dt>Why</dt><dd>${isOld ? 'The house is not heard: what was known may have changed.' : inquiry.because}</dd>
          <dt>Next</dt><dd>${this.#hurt ? html`<strong>Tell quality now, before anything else.</strong>` : isOld ? 'Ask quality.' : inquiry.next}</dd>
          <dt>What we know</dt><dd>${knownWords(inquiry)}</dd>
        </dl>
        ${this.#complaintView(inquiry.products.map(({ name }) => name))}
      `,
      cautions: inquiry.cautions,
      asOf: inquiry.asOf,
    }
  }

  #unclearSaid(unclear: Unclear): Said {
    return {
      answer: html`<span class="heading">${HEADINGS[unclear.reassurance]}</span>
        <span class="of">It may be one of ${unclear.candidates.length}. Ask the caller: ${unclear.askCaller}</span>`,
      body: html`
        ${sayView(unclear.say)}
        <ul class="candidates">
          ${unclear.candidates.map(
            ({ mark, products, made }) => html`<li>
              <a href=${this.#address(mark)}>${mark}</a>
              ${products.map(({ name }) => name).join(', ')}${made ? `, made ${stretchWords(made)}` : ''}
            </li>`,
          )}
        </ul>
        ${this.#complaintView([])}
      `,
    }
  }

  /** The house was asked again and says nothing: a hold may have been placed meanwhile. */
  get #isUnheard(): boolean {
    const { standing } = this.#asked
    if (standing.is === 'asking') return standing.slow
    return standing.is === 'failed' || standing.is === 'stopped'
  }

  #missingSaid({ sentence, near }: Missing): Said {
    return {
      answer: sentence,
      body: html`
        ${near.length > 0 ? html`<p>Easily mixed up: ${near.map((mark) => html`<a href=${this.#address(mark)}>${mark}</a> `)}</p>` : nothing}
        ${this.#complaintView([])}
      `,
    }
  }

  #address(mark: string): string {
    return `/inquiry?${new URLSearchParams({ mark, ...(this.#customer && { customer: this.#customer }) })}`
  }

  #complaintView(products: string[]): TemplateResult {
    const publish = (event: SubmitEvent) => {
      event.preventDefault()
      const said = new FormData(event.currentTarget as HTMLFormElement)
      const text = (name: string) => String(said.get(name) ?? '').trim() || null
      void this.#complaint.publish(
        askWriteDown,
        (reportId) => ({
          input: {
            ...{ reportId, mark: this.#mark, hurt: said.get('hurt') === 'yes' },
            ...{ defect: text('defect'), words: text('words'), product: text('product') },
            callBackAt: momentSaid(text('callBackAt')),
          },
        }),
        ({ recordComplaint }) => recordComplaint,
      )
    }
    const hurt = (value: boolean) => () => {
      this.#hurt = value
      this.#desk.redraw()
    }
    return html`<form class="plain complaint" @submit=${publish} aria-label="Write it down">
      <h3>Write it down</h3>
      <label>What is wrong <input name="defect" autocomplete="off" /></label>
      ${products.length > 1 ? html`<label>Product <select name="product">${products.map((name) => html`<option>${name}</option>`)}</select></label>` : nothing}
      <fieldset>
        <legend>Hurt or ill</legend>
        <label><input type="radio" name="hurt" value="no" checked @change=${hurt(false)} /> no</label>
        <label><input type="radio" name="hurt" value="yes" @change=${hurt(true)} /> yes</label>
      </fieldset>
      <label>In their words <textarea name="words" rows="3" maxlength=${MOST_WORDS} .value=${this.#words}></textarea></label>
      ${this.#words === '' ? nothing : html`<p class="gap">This is the text you held. Strike out every name, address and number in it before it is written down.</p>`}
      <label>Promised to call back by <input name="callBackAt" type="datetime-local" /></label>
      <p class="quiet">No name, address or number of the caller: the record cannot be erased.</p>
      <button ?disabled=${this.#complaint.isUnderWay}>Write it down</button>
      ${this.#complaint.view()}
    </form>`
  }
}

function found(data: InquiryQuery | undefined): Found | undefined {
  return data?.inquiry.__typename === 'Inquiry' ? data.inquiry : undefined
}

function askedBefore(): string[] {
  return JSON.parse(sessionStorage.getItem(ASKED) ?? '[]')
}

/** A field of a form has no offset: it is the reader's clock. */
function momentSaid(field: string | null): string | null {
  return field === null ? null : new Date(field).toISOString()
}

/** To be read aloud, or pasted into a mail. */
function sayView(say: readonly string[]): TemplateResult {
  const copy = (event: Event) => {
    const button = event.currentTarget as HTMLButtonElement
    const copied = (words: string) => () => (button.textContent = words)
    const failed = copied('Not copied: mark the words instead')
    // There is no clipboard where the address is not secure.
    void navigator.clipboard?.writeText(say.join(' ')).then(copied('Copied'), failed)
    if (!navigator.clipboard) failed()
  }
  return html`<blockquote class="say">${say.map((sentence) => html`<p>${sentence}</p>`)}</blockquote>
    <button type="button" @click=${copy}>Copy the words</button>`
}

function ofWords({ products, packs, castings }: Found): string {
  const names = products.map(({ name }) => name).join(', ')
  return `${names}; ${counted(castings, 'casting')} in ${counted(packs, 'pack')} bear this mark`
}

function knownWords(inquiry: Found): string {
  const { made, shippedOn, shippedToCaller, inspected, complaints } = inquiry
  return [
    made && `Made ${stretchWords(made)}.`,
    inspected,
    shippedOn && `Left us ${dayWords(shippedOn)}${callerWords(shippedToCaller)}.`,
    `Complaints on this mark: ${complaints}.`,
  ]
    .filter(Boolean)
    .join(' ')
}

function callerWords(shippedToCaller: boolean | null): string {
  if (shippedToCaller === null) return ''
  return shippedToCaller ? ', to this caller' : ', not to this caller'
}
