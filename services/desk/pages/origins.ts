// Where did this come from? Bars that add up, a seam between mass and chance, a bath that fills.
import { html, type nothing, type TemplateResult } from 'lit-html'
import {
  askBathAround,
  askOrigins,
  askOriginsAgain,
  askOriginsSince,
  type BathAroundQuery,
  type BathAroundQueryVariables,
  type OriginsAgainQuery,
  type OriginsAgainQueryVariables,
  type OriginsQuery,
  type OriginsQueryVariables,
  type OriginsSinceQuery,
  type OriginsSinceQueryVariables,
} from '../asks/origins.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet, stateView } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { restsView } from '../parts/rests.ts'
import { sentence } from '../parts/settings.ts'
import { Since } from '../parts/since.ts'
import { momentWords } from '../words/moment.ts'
import type { Next } from '../words/next-questions.ts'
import { plain } from '../words/plain.ts'
import { thingWords, thingWritten } from '../words/standing.ts'
import { notFoundSaid } from './not-found.ts'
import { originChanges } from './origins/changes.ts'
import { type Bath, type Found, originsOf } from './origins/found.ts'
import { furnaceView } from './origins/furnace.ts'
import { lotsView, measuresView, touchesView } from './origins/tables.ts'
import { wayView } from './origins/way.ts'
import css from './origins.css?inline'

wear(css)

type Outcome = OriginsQuery['origins']

/** Parts of a bar that are named; a telephone has room for fewer. */
const PARTS = { wide: 6, narrow: 3 }
const NARROW_PX = 700

export function openOrigins(desk: Desk, parameters: URLSearchParams): Page {
  return new OriginsPage(desk, parameters)
}

class OriginsPage implements Page {
  readonly #desk: Desk
  readonly #asked: Asked<OriginsQuery, OriginsQueryVariables>
  readonly #bath: Asked<BathAroundQuery, BathAroundQueryVariables>
  readonly #since: Asked<OriginsSinceQuery, OriginsSinceQueryVariables>
  /** What came in since the thing was not found. */
  readonly #came = new Since()
  readonly #again: Asked<OriginsAgainQuery, OriginsAgainQueryVariables>
  #asOf: string | null
  #of: string
  /** The lot whose metal is filled in at the bottom of the bath. */
  #follow: string
  /** The part of a bar whose feeders are shown. */
  #focus: string | undefined

  constructor(desk: Desk, parameters: URLSearchParams) {
    this.#desk = desk
    this.#of = parameters.get('of') ?? ''
    this.#follow = parameters.get('follow') ?? ''
    this.#asOf = parameters.get('asOf')
    this.#asked = new Asked(askOrigins, () => desk.redraw())
    this.#bath = new Asked(askBathAround, () => desk.redraw())
    this.#again = new Asked(askOriginsAgain, () => desk.redraw())
    this.#since = new Asked(askOriginsSince, () => desk.redraw())
    const number = parameters.get('id')
    if (number !== null) void this.#reopen(number)
    else if (this.#of !== '') void this.#ask()
  }

  title(): string {
    return this.#of === ''
      ? 'Where did this come from?'
      : `Where did ${thingWords(this.#of)} come from?`
  }

  view(): TemplateResult {
    return sheet<OriginsQuery>({
      desk: this.#desk,
      question: this.#question(),
      asked: this.#asked,
      empty: this.#emptyView(),
      said: ({ origins }) => this.#said(origins),
    })
  }

  #emptyView(): TemplateResult {
    const { standing, data } = this.#again
    if (data && data.answer === null) return html`<p>There is no answer of that number.</p>`
    if (standing.is === 'nothing') return html`<p>Name a pan, pack, load, heat or lot.</p>`
    return html`${stateView({ desk: this.#desk, asked: this.#again })}`
  }

  /** What came since is counted against this answer, and told in one line. */
  hear(news: News): void {
    if (this.#asOf !== null || this.#asked.data === undefined) return
    if (!this.#found) this.#came.hear(news)
    else if (news.kind === 'reports' || news.kind === 'anew') void this.#askSince()
  }

  async #askSince(): Promise<void> {
    const id = this.#found?.id
    if (id !== undefined && this.#since.standing.is !== 'asking') await this.#since.ask({ id })
  }

  close(): void {
    this.#again.stop()
    this.#asked.stop()
    this.#bath.stop()
    this.#since.stop()
  }

  get #isNarrow(): boolean {
    return this.#desk.room < NARROW_PX
  }

  /** What was answered then follows from the same question as known at the same moment. */
  async #reopen(number: string): Promise<void> {
    await this.#again.ask({ id: number })
    const answer = this.#again.data?.answer
    if (answer?.__typename !== 'Origins') return
    this.#of = answer.of.id
    this.#asOf = answer.asOf
    await this.#ask()
    await this.#askSince()
  }

  async #ask(): Promise<void> {
    this.#since.forget()
    this.#came.clear()
    this.#focus = undefined
    // A thing goes by its id; whatever else was typed is a mark.
    const of = this.#of.includes(':') ? { id: this.#of } : { mark: this.#of }
    const most = this.#isNarrow ? PARTS.narrow : PARTS.wide
    await this.#asked.ask({ of, asOf: this.#asOf, most })
    await this.#askBath()
  }

  async #askBath(): Promise<void> {
    const found = this.#found
    const heat = found?.heats.edges[0]?.node.id
    if (!found || heat === undefined) return
    if (this.#follow === '') this.#follow = found.lots.edges[0]?.node.id ?? ''
    const [before, after] = this.#isNarrow ? [1, 1] : [3, 2]
    await this.#bath.ask({ heat, of: this.#follow === '' ? [] : [this.#follow], before, after })
  }

  get #found(): Found | undefined {
    const origins = this.#asked.data?.origins
    return origins?.__typename === 'Origins' ? origins : undefined
  }

  #question(): TemplateResult {
    return sentence(
      html`Where did <input name="of" aria-label="thing or mark" .value=${this.#of.includes(':') ? thingWords(this.#of) : this.#of} autocomplete="off" spellcheck="false" required /> come from, as known ${this.#asOf ? momentWords(this.#asOf) : 'now'}?`,
      (said) => {
        this.#of = thingWritten(String(said.get('of') ?? ''))
        this.#follow = ''
        this.#keep()
        void this.#ask()
      },
    )
  }

  #keep(): void {
    this.#desk.keep(
      new URLSearchParams({
        of: this.#of,
        ...(this.#follow && { follow: this.#follow }),
        ...(this.#asOf && { asOf: this.#asOf }),
      }),
    )
  }

  #said(outcome: Outcome): Said {
    return outcome.__typename === 'Origins'
      ? this.#foundSaid(outcome)
      : {
          ...notFoundSaid(outcome, originsOf, this.#desk),
          since: this.#came.view(() => void this.#ask()),
        }
  }

  #foundSaid(origins: Found): Said {
    const isWhole = origins.completeness.verdict === 'WHOLE'
    const { units } = this.#desk
    return {
      answer: plain(origins.sentence),
      ...{ isWhole, gaps: isWhole ? [] : gapsOf(origins) },
      since: this.#sinceView(),
      body: html`
        ${wayView(origins, {
          focus: this.#focus,
          room: this.#desk.room,
          hold: (id) => this.#hold(id),
        })}
        ${furnaceView(origins, this.#bathData, {
          desk: this.#desk,
          follow: this.#follow,
          change: (lot) => this.#followLot(lot),
        })}
        ${measuresView(origins, units)} ${touchesView(origins)} ${lotsView(origins, units)}
      `,
      rests: restsView(origins.completeness, this.#desk),
      next: this.#next(origins),
      cautions: origins.cautions,
      asOf: origins.asOf,
      number: origins.id,
    }
  }

  #sinceView(): TemplateResult | typeof nothing {
    const again = this.#asOf === null ? () => void this.#ask() : undefined
    return originChanges(this.#since.data?.answer, again)
  }

  /** The same part twice lets it go. */
  #hold(id: string): void {
    this.#focus = this.#focus === id ? undefined : id
    this.#desk.redraw()
  }

  #followLot(lot: string): void {
    this.#follow = lot
    this.#keep()
    void this.#askBath()
  }

  get #bathData(): Bath | undefined {
    const node = this.#bath.data?.node
    return node?.__typename === 'Heat' ? (node.bath ?? undefined) : undefined
  }

  #next({ lots, of }: Found): Next[] {
    const isQuality = this.#desk.who.roles.includes('quality')
    const [lot] = lots.edges
    const next: Next[] = []
    if (lot && isQuality)
      next.push({
        sentence: `Where did ${thingWords(lot.node.id)} go?`,
        address: `/reach?${new URLSearchParams({ from: lot.node.id, share: '0.01' })}`,
      })
    next.push({
      sentence: 'What had the bad castings that the others had not?',
      address: '/causes',
    })
    if (isQuality)
      next.push({
        sentence: `Where did the metal of ${thingWords(of.id)} go besides?`,
        address: `/reach?${new URLSearchParams({ from: of.id, share: '0.01' })}`,
      })
    return next
  }
}

function gapsOf({ completeness }: Found): string[] {
  return [completeness.sentence, ...completeness.gaps.map((gap) => gap.sentence)].map(plain)
}
