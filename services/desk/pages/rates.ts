// Do defect rates follow what was charged, or where it was made? Groups side by side, how one washed in, and the
// SQL that gives the same numbers.
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askRates,
  askSplits,
  type PointPer,
  type RatesQuery,
  type RatesQueryVariables,
  type SplitsQuery,
  type SplitsQueryVariables,
} from '../asks/rates.ts'
import { washIn, washInSentence } from '../drawings/wash-in.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { figure, table } from '../parts/figure.ts'
import { More } from '../parts/more.ts'
import { restsView } from '../parts/rests.ts'
import { sentence } from '../parts/settings.ts'
import { Since } from '../parts/since.ts'
import { dayWords } from '../words/moment.ts'
import type { Next } from '../words/next-questions.ts'
import { chanceWords, counted, countWords, percentWords, shareWords } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import {
  type About,
  aboutIn,
  aboutParameters,
  aboutSaid,
  defectQuestion,
  fromView,
  Looks,
  untilView,
} from './looked-at.ts'
import {
  PointByPoint,
  type Pointed,
  pointedIn,
  pointedParameters,
  usualPer,
} from './rates/point-by-point.ts'
import { endsOf, type Row, rowsGrid, rowsTable } from './rates/rows.ts'
import { type Split, splitAsked, splitIn, splitParameters, splitSaid } from './rates/split.ts'
import { splitView } from './rates/split-view.ts'
import css from './rates.css?inline'

wear(css)

type Outcome = RatesQuery['defectRates']
type Found = Extract<Outcome, { __typename: 'Rates' }>
type Nothing = Extract<Outcome, { __typename: 'NothingToExplain' }>

export function openRates(desk: Desk, parameters: URLSearchParams): Page {
  return new RatesPage(desk, parameters)
}

class RatesPage implements Page {
  readonly #desk: Desk
  readonly #looks: Looks
  readonly #asked: Asked<RatesQuery, RatesQueryVariables>
  readonly #more
  readonly #splits: Asked<SplitsQuery, SplitsQueryVariables>
  readonly #points: PointByPoint
  readonly #since = new Since()
  readonly #asOf: string | null
  #about: About | undefined
  #split: Split
  #pointed: Pointed

  constructor(desk: Desk, parameters: URLSearchParams) {
    const redraw = () => desk.redraw()
    this.#desk = desk
    this.#looks = new Looks(desk)
    this.#asked = new Asked(askRates, redraw)
    this.#more = new More(desk, askRates, ({ defectRates }) =>
      defectRates.__typename === 'Rates' ? defectRates.rows : undefined,
    )
    this.#splits = new Asked(askSplits, redraw)
    this.#points = new PointByPoint(desk)
    this.#about = aboutIn(parameters)
    this.#split = splitIn(parameters)
    this.#pointed = pointedIn(parameters)
    this.#asOf = parameters.get('asOf')
    void this.#splits.ask({})
    void this.#ask()
  }

  title(): string {
    if (!this.#about) return 'Do defect rates differ?'
    return `Do the rates of ${this.#about.defect || 'defects'} found ${this.#about.stage} differ?`
  }

  view(): TemplateResult {
    return sheet<RatesQuery>({
      desk: this.#desk,
      question: this.#question(),
      asked: this.#asked,
      empty:
        this.#about && !splitAsked(this.#split)
          ? html`<p>Name which one in the sentence, and ask.</p>`
          : this.#looks.list(
              (about) => this.#address(about, this.#split),
              ({ defect, stage }) => `${defect}, ${stage}`,
            ),
      said: ({ defectRates }) =>
        defectRates.__typename === 'Rates'
          ? this.#foundSaid(defectRates)
          : nothingSaid(defectRates, this.#desk),
    })
  }

  hear(news: News): void {
    if (this.#asked.data !== undefined && this.#asOf === null) this.#since.hear(news)
  }

  close(): void {
    this.#asked.stop()
    this.#more.forget()
    this.#points.stop()
  }

  async #ask(): Promise<void> {
    const variables = this.#variables()
    if (!variables) return
    this.#since.clear()
    this.#more.forget()
    await this.#asked.ask(variables)
    this.#askPoints()
  }

  #askPoints(): void {
    const { data } = this.#asked
    if (data?.defectRates.__typename !== 'Rates') return
    const { asOf } = data.defectRates
    this.#points.ask({ about: defectQuestion(this.#about!), per: this.#per, asOf })
  }

  get #per(): PointPer {
    return this.#pointed.per ?? usualPer(this.#about!)
  }

  #variables(): RatesQueryVariables | undefined {
    const split = splitAsked(this.#split)
    if (!this.#about || !split) return undefined
    return { about: defectQuestion(this.#about), ...split, asOf: this.#asOf }
  }

  #address(about: About, split: Split, pointed = this.#pointed): string {
    const kept = {
      ...aboutParameters(about),
      ...splitParameters(split),
      ...pointedParameters(pointed),
    }
    return `/rates?${new URLSearchParams({ ...kept, ...(this.#asOf && { asOf: this.#asOf }) })}`
  }

  #question(): TemplateResult {
    const about = this.#about ?? this.#looks.usual()
    const looks = this.#looks
    return sentence(
      html`How many of ${looks.product(about)}, ${fromView(about)} to ${untilView(about)}, were
      ${looks.defect(about)} ${looks.stage(about)},
      ${splitView(this.#split, this.#splits.data?.lots)}?`,
      (said) => {
        this.#about = aboutSaid(said)
        this.#split = splitSaid(said, this.#split)
        const address = this.#address(this.#about, this.#split)
        this.#desk.keep(new URLSearchParams(address.split('?')[1]))
        this.#desk.redraw()
        void this.#ask()
      },
    )
  }

  #foundSaid(rates: Found): Said {
    const isWhole = rates.completeness.verdict === 'WHOLE'
    const rows = this.#more.edges(rates.rows).map(({ node }) => node)
    return {
      answer: plain(rates.sentence),
      ...{ isWhole, gaps: isWhole ? [] : [rates.completeness.sentence] },
      since: this.#since.view(() => void this.#ask()),
      body: html`
        <section class="rates">
          ${this.#rowsView(rates, rows)}
          ${rates.trend ? html`<p>${trendWords(rates.trend)}</p>` : nothing}
          ${rates.changeover && rates.changeover.days.length > 0 ? this.#changeoverView(rates.changeover) : nothing}
          ${this.#leftOutView(rates)}
          ${this.#points.view({ ...this.#pointed, per: this.#per }, { go: (per) => this.#pointBy(per), address: (pointed) => this.#address(this.#about!, this.#split, pointed) })}
          ${copiesView(rates)}
        </section>
      `,
      rests: restsView(rates.completeness, this.#desk),
      next: this.#next(),
      cautions: rates.cautions,
      asOf: rates.asOf,
    }
  }

  #pointBy(per: PointPer): void {
    this.#pointed = { per, listed: undefined }
    this.#desk.keep(new URLSearchParams(this.#address(this.#about!, this.#split).split('?')[1]))
    this.#askPoints()
  }

  #rowsView(rates: Found, rows: readonly Row[]): TemplateResult {
    const overall = rates.overall.rate
    const all = endsOf(overall)
    const { totalCount } = rates.rows
    const compared = this.#split.against
    return html`
      <p class="quiet">○ plain with its interval, ■ steadied: drawn to the others as far as the count is small; the
        band is all castings, ${percentWords(all.value)} (${percentWords(all.low)} to ${percentWords(all.high)}).
        ${compared ? html`Compared with ${plain(compared)}. <a href=${this.#address(this.#about!, { ...this.#split, against: '' })}>Compare with all the others</a>` : nothing}</p>
      ${
        this.#split.by2
          ? rowsGrid(rows, overall)
          : rowsTable({
              ...{ rows, overall, room: this.#desk.room },
              against: (group) =>
                this.#address(this.#about!, { ...this.#split, against: group.join(', ') }),
              heats: ({ from, to }) =>
                this.#address(this.#about!, this.#split, {
                  per: 'HEAT',
                  listed: [from, justAfter(to)],
                }),
            })
      }
      ${
        rows.length < totalCount
          ? html`<p>${countWords(rows.length)} of ${countWords(totalCount)} groups.</p>
            ${this.#more.view(rates.rows, 'Show 50 more', (after) => ({ ...this.#variables()!, after, asOf: rates.asOf }))}`
          : nothing
      }
    `
  }

  #changeoverView(changeover: NonNullable<Found['changeover']>): TemplateResult {
    const { days, groups, share, castings, defective } = changeover
    const named = { ...changeover, groups: groups.map(plain) }
    return figure({
      title: 'Changeover: whose metal was poured, day by day',
      svg: washIn(named, this.#desk.room),
      sentence: washInSentence(named),
      table: table({
        caption: 'Part of the metal poured',
        rows: days.map((day, i) => ({ day, i })),
        columns: [
          { head: 'Day', isHead: true, cell: ({ day }) => dayWords(`${day}T12:00`) },
          ...named.groups.map((head, g) => ({
            ...{ head, isNumber: true },
            cell: ({ i }: { day: string; i: number }) => shareWords(share[g]?.[i] ?? 0),
          })),
          {
            head: 'Bad of looked at',
            isNumber: true,
            cell: ({ i }) => `${countWords(defective[i]!)} of ${countWords(castings[i]!)}`,
          },
        ],
      }),
    })
  }

  #leftOutView({ tooMixed, leftOut, misfitHeats, withoutCastings }: Found): TemplateResult {
    const without = (withoutMisfits: boolean) =>
      this.#address(this.#about!, { ...this.#split, withoutMisfits })
    const other = leftOut - tooMixed
    return html`<p>
      ${tooMixed >= 0.5 ? `${counted(tooMixed, 'casting is', 'castings are')} too mixed for any row.` : nothing}
      ${other >= 0.5 ? `${counted(other, 'casting is', 'castings are')} in no row: nobody recorded where they belong.` : nothing}
      ${
        this.#split.withoutMisfits
          ? html`${countWords(withoutCastings)} castings of heats that do not fit their charge are left out
            (<a href=${without(false)}>Count them</a>).`
          : misfitHeats > 0
            ? html`${counted(misfitHeats, 'heat does', 'heats do')} not fit their charge (<a href=${without(true)}>Leave them out</a>).`
            : nothing
      }
    </p>`
  }

  #next(): Next[] {
    const about = this.#about!
    const { defect, stage } = about
    const to = (by: Split['by'], by2: Split['by2'] = '') =>
      this.#address(about, { ...this.#split, by, by2, dosed: '', against: '' })
    return [
      {
        sentence: `What had the ${defect || 'bad'} castings found ${stage} that the others had not?`,
        address: `/causes?${new URLSearchParams(aboutParameters(about))}`,
      },
      { sentence: 'Do the rates differ by product and line?', address: to('PRODUCT', 'LINE') },
      { sentence: 'Do the rates differ from day to day?', address: to('DAY') },
    ]
  }
}

function nothingSaid({ sentence: told, completeness }: Nothing, desk: Desk): Said {
  const isWhole = completeness.verdict === 'WHOLE'
  return {
    answer: plain(told),
    ...{ isWhole, gaps: isWhole ? [] : [completeness.sentence] },
    rests: restsView(completeness, desk),
    asOf: completeness.asOf,
  }
}

function copiesView({ id, sql }: Found): TemplateResult {
  const file = (form: string) => `/files/${encodeURIComponent(id)}/rates.${form}`
  return html`<h3>Take a copy</h3>
    <p><a href=${file('csv')} download>CSV</a>, <a href=${file('parquet')} download>Parquet</a></p>
    ${sql ? html`<details><summary>SQL that gives the same</summary><pre class="sql" tabindex="0">${sql}</pre></details>` : nothing}`
}

function trendWords({ z, chanceAlone }: NonNullable<Found['trend']>): string {
  if (chanceAlone >= 0.05) return 'No trend with the dose that chance would not make.'
  const way = z > 0 ? 'More of it, more defects' : 'More of it, fewer defects'
  return `${way}: a trend this strong comes by chance in ${chanceWords(chanceAlone)}.`
}

/** A list of points ends before its end, and a stretch with its last pour. */
function justAfter(moment: string): string {
  return new Date(new Date(moment).getTime() + 1).toISOString()
}
