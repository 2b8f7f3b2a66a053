// What had the bad castings that the good ones had not? Belief, counts on both sides, a place for "nothing", and
// the next trial.
import { html, nothing, type TemplateResult } from 'lit-html'
import { askCauses, type CausesQuery, type CausesQueryVariables } from '../asks/causes.ts'
import { type BeliefRow, beliefs, beliefsSentence, beliefWords } from '../drawings/beliefs.ts'
import { doseSentence, doseSteps } from '../drawings/dose-steps.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { figure, table } from '../parts/figure.ts'
import { restsView } from '../parts/rests.ts'
import { sentence } from '../parts/settings.ts'
import { Since } from '../parts/since.ts'
import type { Next } from '../words/next-questions.ts'
import { between, countWords, shareWords } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import { thingWords } from '../words/standing.ts'
import css from './causes.css?inline'
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

wear(css)

type Outcome = CausesQuery['causes']
type Found = Extract<Outcome, { __typename: 'Causes' }>
type Nothing = Extract<Outcome, { __typename: 'NothingToExplain' }>
type Group = Found['groups'][number]
type Estimate = Group['times']

const HEADINGS = {
  ONE_STANDS_OUT: 'One thing stands out',
  SEVERAL_REMAIN: 'Several remain',
  NOTHING_STANDS_OUT: 'Nothing stands out',
} as const
const TOO_FEW = 'Too few defects to tell'
const NOTHING_EXPLAINS = 'nothing recorded explains it'
/** Names that stand in a row; more are counted. */
const NAMES_SHOWN = 2

export function openCauses(desk: Desk, parameters: URLSearchParams): Page {
  return new CausesPage(desk, parameters)
}

class CausesPage implements Page {
  readonly #desk: Desk
  readonly #looks: Looks
  readonly #asked: Asked<CausesQuery, CausesQueryVariables>
  readonly #since = new Since()
  readonly #asOf: string | null
  #about: About | undefined

  constructor(desk: Desk, parameters: URLSearchParams) {
    this.#desk = desk
    this.#looks = new Looks(desk)
    this.#asked = new Asked(askCauses, () => desk.redraw())
    this.#about = aboutIn(parameters)
    this.#asOf = parameters.get('asOf')
    if (this.#about) void this.#ask(this.#about)
  }

  title(): string {
    if (!this.#about) return 'What had the bad castings that the others had not?'
    const { defect, stage } = this.#about
    return `What had the ${defect || 'defective'} castings found ${stage} that the others had not?`
  }

  view(): TemplateResult {
    return sheet<CausesQuery>({
      desk: this.#desk,
      question: this.#question(),
      asked: this.#asked,
      empty: this.#looks.list(addressOf, ({ defect, stage }) => `${defect}, ${stage}`),
      said: ({ causes }) =>
        causes.__typename === 'Causes' ? this.#foundSaid(causes) : nothingSaid(causes, this.#desk),
    })
  }

  hear(news: News): void {
    if (this.#asked.data !== undefined && this.#asOf === null) this.#since.hear(news)
  }

  close(): void {
    this.#asked.stop()
  }

  #ask(about: About): Promise<void> {
    this.#since.clear()
    return this.#asked.ask({ about: defectQuestion(about), asOf: this.#asOf })
  }

  #question(): TemplateResult {
    const about = this.#about ?? this.#looks.usual()
    const looks = this.#looks
    return sentence(
      html`What had the ${looks.defect(about)} castings of ${looks.product(about)}, ${fromView(about)} to
      ${untilView(about)}, found ${looks.stage(about)}, that the others had not?`,
      (said) => {
        this.#about = aboutSaid(said)
        this.#desk.keep(new URLSearchParams(aboutParameters(this.#about)))
        void this.#ask(this.#about)
      },
    )
  }

  #foundSaid(causes: Found): Said {
    const isWhole = causes.completeness.verdict === 'WHOLE'
    const [first, ...others] = causes.cautions
    return {
      answer: html`<span class="heading">${HEADINGS[causes.verdict]}</span>
        <span class="of">${plain(causes.sentence)}</span>`,
      ...{ isWhole, gaps: isWhole ? [] : [causes.completeness.sentence] },
      since: this.#since.view(() => void this.#ask(this.#about!)),
      body: html`
        <p class="caution">${first?.sentence}</p>
        ${this.#drawing(causes)}
        <ol class="explanations">${causes.groups.map((group) => this.#groupView(group))}</ol>
        <p>Weighed ${countWords(causes.weighed)} factors on ${countWords(causes.counted.castings)} castings.
          Without a cause this page cries out in ${Math.round(causes.falseAlarms * 100)} of 100 cases.</p>
      `,
      rests: restsView(causes.completeness, this.#desk),
      next: this.#next(causes),
      cautions: others,
      asOf: causes.asOf,
    }
  }

  #drawing({ groups, nothing: belief }: Found): TemplateResult {
    const rows: BeliefRow[] = [
      ...groups.map((group) => ({
        ...{ name: namesOf(group), belief: group.belief },
        ...{ with: rateOf(group.with.rate), without: rateOf(group.without.rate) },
      })),
      { name: NOTHING_EXPLAINS, belief },
    ]
    return figure({
      title: 'What is believed, and the castings with and without it',
      svg: beliefs(rows, this.#desk.room),
      sentence: `Believed: ${beliefsSentence(rows)}`,
      table: table({
        caption: 'What is believed',
        rows,
        columns: [
          { head: 'Explanation', isHead: true, cell: ({ name }) => name },
          { head: 'Believed', isNumber: true, cell: (row) => beliefWords(row.belief) },
          { head: 'Bad with it', isNumber: true, cell: (row) => rateWords(row.with) },
          { head: 'Bad without it', isNumber: true, cell: (row) => rateWords(row.without) },
        ],
      }),
    })
  }

  #groupView(group: Group): TemplateResult {
    const { dose, factors, times, tellApart, with: having, without } = group
    const more = factors.slice(NAMES_SHOWN)
    return html`<li>
      <h3>${factors.slice(0, NAMES_SHOWN).map((factor, i) => html`${i > 0 ? ', or ' : ''}${this.#factorView(factor)}`)}</h3>
      <p>Believed ${beliefWords(group.belief)}. With it
        ${countWords(having.defective)} bad of ${countWords(having.castings)}, without it
        ${countWords(without.defective)} of ${countWords(without.castings)}: ${timesWords(times)} the odds.</p>
      ${
        factors.length > 1
          ? html`<p>These moved together and cannot be told apart here.</p>
            <details><summary>${more.length > 0 ? `${more.length} more, and the` : 'The'} trials that would tell them apart</summary>
              ${more.length > 0 ? html`<p>Also: ${more.map((factor, i) => html`${i > 0 ? '; ' : ''}${this.#factorView(factor)}`)}.</p>` : nothing}
              <ul>${tellApart.map((trial) => html`<li>${plain(trial)}</li>`)}</ul>
            </details>`
          : nothing
      }
      ${dose ? html`<details><summary>More of it, more defects?</summary>${this.#doseView(dose)}</details>` : nothing}
    </li>`
  }

  #factorView({ name, thing }: Group['factors'][number]): TemplateResult {
    if (!thing) return html`${plain(name)}`
    const address = `/origins?${new URLSearchParams({ of: thing.id })}`
    return thing.id.startsWith('lot:')
      ? html`${plain(name)}`
      : html`<a href=${address}>${plain(name)}</a>`
  }

  #doseView(dose: NonNullable<Group['dose']>): TemplateResult {
    const steps = dose.dose.map((value, i) => ({ value, i }))
    return figure({
      title: 'Bad castings by how much of it they carry',
      svg: doseSteps(dose, Math.min(this.#desk.room, 620)),
      sentence: doseSentence(dose),
      table: table({
        caption: 'By dose',
        rows: steps,
        columns: [
          {
            head: 'Of the most that any carries',
            isHead: true,
            cell: ({ value }) => shareWords(value),
          },
          { head: 'Castings', isNumber: true, cell: ({ i }) => countWords(dose.castings[i]!) },
          { head: 'Bad', isNumber: true, cell: ({ i }) => shareWords(dose.rate[i]!) },
          {
            head: 'Interval',
            isNumber: true,
            cell: ({ i }) => `${shareWords(dose.low[i]!)} to ${shareWords(dose.high[i]!)}`,
          },
        ],
      }),
    })
  }

  #next({ groups }: Found): Next[] {
    const about = this.#about!
    const rates = (more: Record<string, string>) =>
      `/rates?${new URLSearchParams({ ...aboutParameters(about), ...more })}`
    const thing = groups.flatMap(({ factors }) => factors).find((factor) => factor.thing)?.thing?.id
    const isLot = thing?.startsWith('lot:')
    const next: Next[] = []
    const isQuality = this.#desk.who.roles.includes('quality')
    const [factor] = groups[0]?.factors ?? []
    if (factor && isQuality) {
      const { from: begin, to: end, ...looked } = aboutParameters(about)
      const had = { factor: factor.name, ...looked, begin: begin!, end: end! }
      next.push({
        sentence: `Where did everything that had ${plain(factor.name)} go?`,
        address: `/reach?${new URLSearchParams(had)}`,
      })
    }
    if (thing && isQuality)
      next.push({
        sentence: `Where did ${thingWords(thing)} go?`,
        address: `/reach?${new URLSearchParams({ from: thing, ...(isLot && { share: '0.01' }) })}`,
      })
    if (thing && isLot)
      next.push({
        sentence: `Did more of ${thingWords(thing)} mean more defects?`,
        address: rates({ by: 'LOT', lot: thing }),
      })
    next.push(
      {
        sentence: 'Do the rates differ by recipe revision?',
        address: rates({ by: 'RECIPE' }),
      },
      {
        sentence: 'Do the rates differ by product and line?',
        address: rates({ by: 'PRODUCT', by2: 'LINE' }),
      },
    )
    return next
  }
}

function nothingSaid(
  { castings, defective, sentence: told, completeness }: Nothing,
  desk: Desk,
): Said {
  const isFew = defective > 0 && defective < castings
  const isWhole = completeness.verdict === 'WHOLE'
  return {
    answer: isFew
      ? html`<span class="heading">${TOO_FEW}</span> <span class="of">${plain(told)}</span>`
      : plain(told),
    ...{ isWhole, gaps: isWhole ? [] : [completeness.sentence] },
    rests: restsView(completeness, desk),
    asOf: completeness.asOf,
  }
}

function addressOf(about: About): string {
  return `/causes?${new URLSearchParams(aboutParameters(about))}`
}

function namesOf({ factors }: Group): string {
  const names = factors.slice(0, NAMES_SHOWN).map(({ name }) => plain(name))
  const more = factors.length - names.length
  return [...names, ...(more > 0 ? [`${more} more`] : [])].join(', or ')
}

function rateOf({ value, interval }: Estimate) {
  return { value, low: interval?.low ?? value, high: interval?.high ?? value }
}

function rateWords(rate: BeliefRow['with']): string {
  return rate ? `${shareWords(rate.value)}${between(rate, shareWords)}` : ''
}

function timesWords({ value, interval }: Estimate): string {
  const words = (times: number) => times.toFixed(1)
  return `${words(value)} times${between(interval, words)}`
}
