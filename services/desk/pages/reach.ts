// Where did this go? A ruler across two drawings: what each pour holds, and what counting from there would
// take in. The choice of where to lay it is the page.
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askReach,
  askReachAgain,
  askReachAt,
  askReachPacks,
  askReachSince,
  type FoundFragment,
  type ReachAgainQuery,
  type ReachQuery,
} from '../asks/reach.ts'
import {
  type Curve,
  type RulerLayers,
  type RulerPlace,
  reachRuler,
  type Strip,
} from '../drawings/reach-ruler.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { More } from '../parts/more.ts'
import { restsView } from '../parts/rests.ts'
import { counted, countWords, shareWords } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import { reachWords } from '../words/reach-words.ts'
import { notFoundSaid } from './not-found.ts'
import { nextOf, sinceView } from './reach/around.ts'
import { Deciding } from './reach/decide.ts'
import { emptyView } from './reach/empty.ts'
import { groupWords } from './reach/group.ts'
import { packsView, placesView } from './reach/places.ts'
import {
  type Counts,
  countsWords,
  countsWritten,
  fromWords,
  fromWritten,
  parametersOf,
  questionOf,
  type ReachQuestion,
  titleOf,
  variablesOf,
} from './reach/question.ts'
import { rulerView } from './reach/ruler.ts'
import css from './reach.css?inline'

wear(css)

/** A ruler that lies still for so long is let go. */
const REST_MS = 200

/** Two drawings and their labels need so much. Unit: px. */
const NARROWEST = 520

export function openReach(desk: Desk, parameters: URLSearchParams): Page {
  return new ReachPage(desk, parameters)
}

class ReachPage implements Page {
  readonly #desk: Desk
  readonly #asked
  /** An answer that was given before, by its number. */
  readonly #again
  readonly #exact
  readonly #since
  readonly #more
  readonly #number: string | undefined
  #question: ReachQuestion
  #ruler: RulerPlace | undefined
  #drawn: { curve: Curve; layers: RulerLayers } | undefined
  #resting: ReturnType<typeof setTimeout> | undefined
  #deciding: { of: string; deciding: Deciding } | undefined

  constructor(desk: Desk, parameters: URLSearchParams) {
    this.#desk = desk
    const redraw = () => desk.redraw()
    this.#asked = new Asked(askReach, redraw)
    this.#again = new Asked(askReachAgain, redraw)
    this.#exact = new Asked(askReachAt, redraw)
    this.#since = new Asked(askReachSince, redraw)
    this.#more = new More(desk, askReachPacks, ({ answer }) =>
      answer?.__typename === 'Reach' ? answer.packs : undefined,
    )
    this.#question = questionOf(parameters)
    this.#number = parameters.get('id') ?? undefined
    if (this.#number) void this.#reopen(this.#number)
    else if (this.#isAsked) void this.#ask()
  }

  get #isAsked(): boolean {
    return this.#question.from.length > 0 || this.#question.group !== undefined
  }

  get #found(): FoundFragment | undefined {
    const answer = this.#number ? this.#again.data?.answer : this.#asked.data?.reach
    return answer?.__typename === 'Reach' ? answer : undefined
  }

  title(): string {
    return this.#number ? (this.#found?.question ?? 'Where did it go?') : titleOf(this.#question)
  }

  view(): TemplateResult {
    const parts = { desk: this.#desk, question: this.#questionView(), empty: this.#empty() }
    return this.#number
      ? sheet<ReachAgainQuery>({
          ...parts,
          asked: this.#again,
          said: ({ answer }) =>
            answer?.__typename === 'Reach'
              ? this.#foundSaid(answer)
              : { answer: 'There is no answer of that number.' },
        })
      : sheet<ReachQuery>({
          ...parts,
          asked: this.#asked,
          said: ({ reach }) =>
            reach.__typename === 'Reach'
              ? this.#foundSaid(reach)
              : notFoundSaid(reach, (id) => this.#address(id), this.#desk),
        })
  }

  /** What came since is counted against this answer, and told in one line. */
  hear(news: News): void {
    const found = this.#found
    if (!found || this.#question.asOf || (news.kind !== 'reports' && news.kind !== 'anew')) return
    if (this.#since.standing.is !== 'asking') void this.#since.ask({ id: found.id })
  }

  async #ask(): Promise<void> {
    this.#forget()
    await this.#asked.ask(variablesOf(this.#question))
  }

  async #reopen(id: string): Promise<void> {
    await this.#again.ask({ id })
    if (this.#found) await this.#since.ask({ id })
  }

  close(): void {
    clearTimeout(this.#resting)
  }

  #forget(): void {
    clearTimeout(this.#resting)
    this.#ruler = undefined
    this.#more.forget()
    this.#since.forget()
  }

  #go(question: ReachQuestion): void {
    this.#question = question
    const address = `/reach?${parametersOf(question)}`
    // An answer reopened by its number is another page than the question asked anew.
    if (this.#number) this.#desk.go(address)
    else {
      this.#desk.keep(parametersOf(question))
      void this.#ask()
    }
  }

  #questionView(): TemplateResult {
    if (this.#number) return html`${this.title()}`
    const { counts, asOf } = this.#question
    const take = (event: SubmitEvent) => {
      event.preventDefault()
      this.#take(event.currentTarget as HTMLFormElement)
    }
    return html`<form class="sentence" @submit=${take} @change=${(event: Event) => (event.currentTarget as HTMLFormElement).requestSubmit()}>
      Where did <input name="from" aria-label="what is followed" .value=${fromWords(this.#question)} placeholder="lot SB-3400" size="14" autocomplete="off" spellcheck="false" />
      go, counting a casting from
      <input name="counts" aria-label="the least that counts" .value=${countsWords(counts)} size="9" autocomplete="off" />
      ${'dose' in counts ? '' : 'of its metal '}on, as known
      <input name="asOf" aria-label="as known when" .value=${asOf ?? 'now'} size="5" autocomplete="off" />?
      <button class="aloud">Ask</button>
    </form>`
  }

  #take(form: HTMLFormElement): void {
    const said = new FormData(form)
    const field = (name: string) => String(said.get(name) ?? '').trim()
    const input = (name: string) => form.elements.namedItem(name) as HTMLInputElement
    const counts = countsWritten(field('counts'))
    const moment = field('asOf') === 'now' || field('asOf') === '' ? undefined : field('asOf')
    const isMoment = moment === undefined || !Number.isNaN(Date.parse(moment))
    input('counts').setCustomValidity(
      counts
        ? ''
        : 'Write a share above 0 and at most 1, such as 1 in 1,000; of an addition, 0.5 doses; or any.',
    )
    input('asOf').setCustomValidity(
      isMoment ? '' : 'Write now, or a moment such as 2026-04-12 14:00.',
    )
    if (!form.reportValidity() || !counts || field('from') === '') return
    const { group } = this.#question
    const isSame = group !== undefined && field('from') === groupWords(group)
    this.#go({
      from: isSame ? [] : fromWritten(field('from')),
      group: isSame ? group : undefined,
      counts: isSame ? { touched: true } : counts,
      asOf: moment === undefined ? undefined : new Date(moment).toISOString(),
    })
  }

  #empty(): TemplateResult {
    return emptyView((group) =>
      this.#go({ ...this.#question, from: [], group, counts: { touched: true } }),
    )
  }

  #address(id: string): string {
    return `/reach?${parametersOf({ ...this.#question, from: [id], group: undefined })}`
  }

  #foundSaid(found: FoundFragment): Said {
    const { castings, completeness, leftOut, mostLeftOutGrams } = found
    const isWhole = completeness.verdict === 'WHOLE'
    return {
      answer: reachWords(castings, isWhole, leftOut?.value, mostLeftOutGrams),
      isWhole,
      gaps: isWhole ? [] : gapsOf(completeness),
      since: this.#sinceView(),
      body: this.#body(found),
      rests: restsView(completeness, this.#desk),
      next: nextOf(found),
      cautions: found.cautions,
      asOf: found.asOf,
      number: found.id,
    }
  }

  #body(found: FoundFragment): TemplateResult {
    const { strip, curve } = found
    const deciding = this.#decidingOf(found)
    return html`
      ${strip && curve && curve.share.length > 1 ? this.#rulerView(found, strip, curve) : nothing}
      ${placesView(found, deciding.buttons())}
      ${deciding.form()}
      ${packsView(found.id, this.#more.edges(found.packs), found.packs.totalCount, this.#moreView(found))}
    `
  }

  #decidingOf(found: FoundFragment): Deciding {
    if (this.#deciding?.of !== found.id)
      this.#deciding = { of: found.id, deciding: new Deciding(this.#desk, found) }
    return this.#deciding.deciding
  }

  #rulerView(found: FoundFragment, strip: Strip, curve: Curve): TemplateResult {
    const asked: RulerPlace = {
      share: found.leastShare ?? curve.share.at(-1)!,
      toHold: found.castings.toHold,
      expected: found.castings.expected.value,
      leftOut: found.leftOut?.value ?? 0,
    }
    const move = (place: RulerPlace) => {
      this.#ruler = place
      clearTimeout(this.#resting)
      // Asked exactly where it comes to rest, not at each step on the way.
      this.#resting = setTimeout(() => {
        void this.#exact.ask({ id: found.id, share: place.share })
      }, REST_MS)
      this.#desk.redraw()
    }
    const layers = this.#layersOf(strip, curve)
    return html`${rulerView({ strip, curve, layers, place: this.#ruler ?? asked, move })}
      ${this.#ruler && !this.#number ? this.#movedView(this.#ruler, found) : nothing}`
  }

  /** Once for each answer and width, however often the ruler moves. */
  #layersOf(strip: Strip, curve: Curve): RulerLayers {
    const width = Math.max(NARROWEST, this.#desk.room)
    if (this.#drawn?.curve !== curve || this.#drawn.layers.size.width !== width)
      this.#drawn = { curve, layers: reachRuler({ strip, curve }, width) }
    return this.#drawn.layers
  }

  /** Places and packs below are of the share that was asked; the ruler lies elsewhere. */
  #movedView(
    { share }: RulerPlace,
    { leastShare: asked, usualDose }: FoundFragment,
  ): TemplateResult {
    const counts: Counts = usualDose ? { dose: share / usualDose.share } : { share }
    const answer = this.#exact.data?.answer
    const at = answer?.__typename === 'Reach' ? answer.at : null
    const exact =
      at && at.share === share
        ? `There ${countWords(at.castings.toHold)} castings are to hold, in ${counted(at.packs, 'pack')}, and ${counted(at.customers, 'customer')} touched. `
        : ''
    return html`<p class="moved" role="status">${exact}What follows counts ${asked === null ? 'whatever was touched' : `from ${shareWords(asked)} on`}.
      <button type="button" @click=${() => this.#go({ ...this.#question, counts })}>Count from ${countsWords(counts)} on</button></p>`
  }

  #moreView({ id, packs }: FoundFragment): TemplateResult | typeof nothing {
    const left = packs.totalCount - this.#more.edges(packs).length
    if (left <= 0) return nothing
    return html`${this.#more.view(packs, 'Show 50 more', (after) => ({ id, after }))}
      <p>${countWords(left)} more in the file.</p>`
  }

  #sinceView(): TemplateResult | typeof nothing {
    const answer = this.#since.data?.answer
    const since = answer?.__typename === 'Reach' ? answer.since : null
    if (!since || (since.joined === 0 && since.left === 0)) return nothing
    return sinceView(since, this.#number ? undefined : () => void this.#ask())
  }
}

/** Each gap that touches it; where none is told apart, what is missing as a whole. */
function gapsOf({ gaps, sentence }: FoundFragment['completeness']): string[] {
  const told = gaps.length > 0 ? gaps.map((gap) => gap.sentence) : [sentence]
  return told.map(plain)
}
