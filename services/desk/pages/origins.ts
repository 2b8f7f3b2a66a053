// Where did this come from? Bars that add up, a seam between mass and chance, a bath that fills.
import './origins.css'
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askBathAround,
  askOrigins,
  askOriginsAgain,
  type BathAroundQuery,
  type BathAroundQueryVariables,
  type OriginsAgainQuery,
  type OriginsAgainQueryVariables,
  type OriginsQuery,
  type OriginsQueryVariables,
} from '../asks/origins.ts'
import { bathLevel, bathSentence, teethOf } from '../drawings/bath-level.ts'
import { partsOf, type Stage, type WayHere, wayHere, waySentence } from '../drawings/way-here.ts'
import { Asked } from '../frame/asked.ts'
import { figure, table } from '../frame/figure.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { restsView } from '../frame/rests.ts'
import { choice, sentence } from '../frame/settings.ts'
import { type Said, sheet, stateView } from '../frame/sheet.ts'
import { Since } from '../frame/since.ts'
import { momentWords } from '../words/moment.ts'
import type { Next } from '../words/next-questions.ts'
import { between, chanceWords, countWords, shareWords } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import { standingWords, thingWords } from '../words/standing.ts'
import { figures, heatWords, massWords } from '../words/units.ts'

type Outcome = OriginsQuery['origins']
type Found = Extract<Outcome, { __typename: 'Origins' }>
type Broken = Extract<Outcome, { __typename: 'TrailBroken' }>
type Unclear = Extract<Outcome, { __typename: 'Unclear' }>
type Missing = Extract<Outcome, { __typename: 'NotKnown' }>
type Bath = NonNullable<
  Extract<NonNullable<BathAroundQuery['node']>, { __typename: 'Heat' }>['bath']
>

/** Parts of a bar that are named; a telephone has room for fewer. */
const PARTS = { wide: 6, narrow: 3 }
const NARROW_PX = 700

const STAGE_NAMES: Record<string, string> = {
  LOT: 'lots',
  CHARGE: 'charges',
  HEAT: 'heats',
  LADLE: 'ladles',
  POUR: 'pours',
  SHAKE_OUT: 'shake-out',
  PACK: 'pack',
  PAN: 'pan',
}

export function openOrigins(desk: Desk, parameters: URLSearchParams): Page {
  return new OriginsPage(desk, parameters)
}

class OriginsPage implements Page {
  readonly #desk: Desk
  readonly #asked: Asked<OriginsQuery, OriginsQueryVariables>
  readonly #bath: Asked<BathAroundQuery, BathAroundQueryVariables>
  readonly #since = new Since()
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

  hear(news: News): void {
    if (this.#asked.data !== undefined && this.#asOf === null) this.#since.hear(news)
  }

  close(): void {
    this.#again.stop()
    this.#asked.stop()
    this.#bath.stop()
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
  }

  async #ask(): Promise<void> {
    this.#since.clear()
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
      html`Where did <input name="of" aria-label="thing or mark" .value=${this.#of} autocomplete="off" spellcheck="false" required /> come from, as known ${this.#asOf ? momentWords(this.#asOf) : 'now'}?`,
      (said) => {
        this.#of = String(said.get('of') ?? '').trim()
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
    switch (outcome.__typename) {
      case 'Origins':
        return this.#foundSaid(outcome)
      case 'TrailBroken':
        return brokenSaid(outcome)
      case 'Unclear':
        return unclearSaid(outcome)
      case 'NotKnown':
        return missingSaid(outcome)
    }
  }

  #foundSaid(origins: Found): Said {
    const isWhole = origins.completeness.verdict === 'WHOLE'
    return {
      answer: plain(origins.sentence),
      ...{ isWhole, gaps: isWhole ? [] : gapsOf(origins) },
      since: this.#since.view(() => void this.#ask()),
      body: html`
        ${this.#wayView(origins)} ${this.#bathView(origins)} ${this.#measuresView(origins)}
        ${touchesView(origins)} ${this.#lotsView(origins)}
      `,
      rests: restsView(origins.completeness),
      next: this.#next(origins),
      cautions: origins.cautions,
      asOf: origins.asOf,
      number: origins.id,
    }
  }

  #wayView(origins: Found): TemplateResult {
    const way = wayOf(origins, this.#focus)
    const rows = way.stages.flatMap((stage) =>
      partsOf(stage, way).map((part) => ({ stage, ...part })),
    )
    const words = (isMetal: boolean, part: number) =>
      isMetal ? shareWords(part) : chanceWords(part)
    const press = (event: Event) => {
      const id = (event.target as Element).closest('[data-id]')?.getAttribute('data-id')
      if (id) this.#hold(id)
    }
    return html`<div class="way" @click=${press}>
      ${figure({
        title: 'The way here',
        svg: wayHere(way, this.#desk.room),
        sentence: this.#focus === undefined ? waySentence(way) : this.#feedersWords(origins),
        table: table({
          caption: 'The way here: metal by mass, pieces by chance',
          rows,
          columns: [
            { head: 'Stage', cell: ({ stage }) => stage.name },
            {
              head: 'What',
              isHead: true,
              cell: ({ id, name }) =>
                id
                  ? html`<button type="button" class="link" data-id=${id}>${thingWords(id)}</button>`
                  : name,
            },
            {
              head: 'Part',
              isNumber: true,
              cell: ({ stage, part }) => words(stage.isMetal, part),
            },
          ],
        }),
      })}
    </div>`
  }

  /** The same part twice lets it go. */
  #hold(id: string): void {
    this.#focus = this.#focus === id ? undefined : id
    this.#desk.redraw()
  }

  #feedersWords({ path }: Found): string {
    const fed = path.runs.filter(({ to }) => to === this.#focus)
    const name = thingWords(this.#focus!)
    if (fed.length === 0) return `What fed ${name} is not among what is drawn here.`
    return `${name} was fed by ${fed
      .map(
        ({ from, part, heel }) =>
          `${thingWords(from)}${heel ? ' by heel' : ''} ${shareWords(part)}`,
      )
      .join(', ')}.`
  }

  #bathView(origins: Found): TemplateResult | typeof nothing {
    const bath = this.#bathData
    const heat = origins.heats.edges[0]?.node
    if (!bath || !heat || bath.kg.length === 0) return nothing
    const ours = new Set(
      origins.path.columns.flatMap(({ boxes }) => boxes.map(({ thing }) => thing.id)),
    )
    const level = { ...bath, ours }
    const lots = origins.lots.edges.map(({ node }) => ({
      value: node.id,
      words: thingWords(node.id),
    }))
    const change = (event: Event) => {
      this.#follow = (event.target as HTMLSelectElement).value
      this.#keep()
      void this.#askBath()
    }
    return html`<section class="bath" @change=${change}>
      ${figure({
        title: `Furnace ${heat.furnace?.number ?? ''} around ${thingWords(heat.id)}`,
        svg: bathLevel(level, this.#desk.room),
        sentence: `Of ${thingWords(this.#follow)} at the fullest: ${bathSentence(level)}.`,
        table: table({
          caption: `Furnace ${heat.furnace?.number ?? ''}, heat by heat`,
          rows: teethOf(level),
          columns: [
            { head: 'Heat', isHead: true, cell: (tooth) => thingWords(tooth.heat) },
            {
              head: 'At most in it',
              isNumber: true,
              cell: (tooth) =>
                massWords(Math.max(...bath.kg.slice(tooth.from, tooth.to)), this.#desk.units),
            },
            {
              head: thingWords(this.#follow),
              isNumber: true,
              cell: ({ share }) => shareWords(share),
            },
          ],
        }),
      })}
      <p>Metal in it, and how much of that was ${choice({ name: 'follow', label: 'lot to follow', value: this.#follow, options: lots })}.
        A step up: filled; a step down: tapped; the floor of the teeth is the heel.
        ${heat.misfit?.toldApart ? html`<strong>${plain(heat.misfit.sentence)}</strong>` : nothing}</p>
    </section>`
  }

  get #bathData(): Bath | undefined {
    const node = this.#bath.data?.node
    return node?.__typename === 'Heat' ? (node.bath ?? undefined) : undefined
  }

  #measuresView({ pours }: Found): TemplateResult {
    const rows = pours.edges.flatMap(({ node, chance }) =>
      node.measures.map((measure) => ({ pour: node.id, chance: chance.value, ...measure })),
    )
    return table({
      caption: 'Measured on the way, likeliest pours first',
      empty: 'Nothing was measured on the way.',
      rows,
      columns: [
        { head: 'Pour', isHead: true, cell: ({ pour }) => linkTo(pour) },
        { head: 'Chance', isNumber: true, cell: ({ chance }) => chanceWords(chance) },
        { head: 'Measured', cell: ({ quantity }) => quantity },
        {
          head: 'Value',
          isNumber: true,
          cell: (row) => this.#valueWords(row.value.value, row.unit),
        },
        { head: 'Allowed', isNumber: true, cell: (row) => this.#allowedWords(row) },
        {
          head: 'Within',
          cell: ({ outside }) =>
            outside ? html`<strong>OUTSIDE</strong>` : outside === false ? 'yes' : '',
        },
      ],
    })
  }

  /** In the unit of the plant where it is a temperature. Codes of units are those of UCUM. */
  #valueWords(value: number, unit: string): string {
    return unit === 'CEL' ? heatWords(value, this.#desk.units) : `${figures(value)} ${unit}`
  }

  #allowedWords(row: {
    lowestAllowed: number | null
    highestAllowed: number | null
    unit: string
  }): string {
    const { lowestAllowed: low, highestAllowed: high, unit } = row
    if (low !== null && high !== null)
      return `${this.#valueWords(low, unit)} to ${this.#valueWords(high, unit)}`
    if (low !== null) return `from ${this.#valueWords(low, unit)}`
    return high === null ? '' : `up to ${this.#valueWords(high, unit)}`
  }

  #lotsView({ lots, unrecorded }: Found): TemplateResult {
    const more = lots.totalCount - lots.edges.length
    return html`
      ${table({
        caption: 'Lots in its metal',
        empty: 'No lot is known in it.',
        rows: lots.edges,
        columns: [
          { head: 'Lot', isHead: true, cell: ({ node }) => linkTo(node.id) },
          { head: 'Material', cell: ({ node }) => node.material ?? '' },
          {
            head: 'Share',
            isNumber: true,
            cell: ({ share }) => `${shareWords(share.value)}${between(share.interval, shareWords)}`,
          },
          {
            head: 'In one casting',
            isNumber: true,
            cell: ({ grams }) => (grams ? massWords(grams.value / 1_000, this.#desk.units) : ''),
          },
          { head: 'By heel', isNumber: true, cell: ({ byHeel }) => shareWords(byHeel) },
          { head: 'By returns', isNumber: true, cell: ({ byReturns }) => shareWords(byReturns) },
        ],
      })}
      ${more > 0 ? html`<p class="quiet">${countWords(more)} more, each with less.</p>` : nothing}
      ${unrecorded.value > 0 ? html`<p class="quiet">${shareWords(unrecorded.value)} of its metal no report accounts for.</p>` : nothing}
    `
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

function wayOf({ path, unrecorded, unknownSource }: Found, focus: string | undefined): WayHere {
  const feeders = new Set(path.runs.filter(({ to }) => to === focus).map(({ from }) => from))
  return {
    stages: oneAfterOther(
      path.columns.map(({ kind, step, metal, boxes, others, othersTogether }) => {
        const key = step ?? kind
        return {
          name: STAGE_NAMES[key] ?? key.toLowerCase().replaceAll('_', ' '),
          isMetal: metal,
          boxes: boxes.map(({ thing, part }) => ({
            ...{ id: thing.id, part: part.value },
            name: thing.id.slice(thing.id.indexOf(':') + 1),
          })),
          others: { count: others, part: othersTogether },
        }
      }),
    ),
    ...{ unrecorded: unrecorded.value, unknownSource: unknownSource.value },
    ...(focus !== undefined && { focus: { id: focus, feeders } }),
  }
}

/** Steps that the same loads went through one after the other are one stage. */
function oneAfterOther(stages: readonly Stage[]): Stage[] {
  const merged: (Stage & { first: string })[] = []
  for (const stage of stages) {
    const last = merged.at(-1)
    if (last && !stage.isMetal && !last.isMetal && sameParts(last, stage))
      last.name = `${last.first} to ${stage.name}`
    else merged.push({ ...stage, first: stage.name })
  }
  return merged
}

function sameParts(a: Stage, b: Stage): boolean {
  const parts = ({ boxes, others }: Stage) => JSON.stringify([boxes, others])
  return parts(a) === parts(b)
}

type Touch = Found['touches'][number]

/** Contacts likelier than this are read; the rest stands behind them. Unit: chance 0 to 1. */
const LIKELY = 0.01

function touchesView({ touches }: Found): TemplateResult {
  const likely = touches.filter(({ chance }) => chance.value >= LIKELY)
  const rare = touches.filter(({ chance }) => chance.value < LIKELY)
  return html`${touchTable('Touched by', likely)}
    ${
      rare.length > 0
        ? html`<details>
          <summary>${countWords(rare.length)} more, each by less than ${chanceWords(LIKELY)}</summary>
          ${touchTable('Touched by, with a small chance', rare)}
        </details>`
        : nothing
    }`
}

function touchTable(caption: string, rows: readonly Touch[]): TemplateResult {
  return table({
    ...{ caption, rows, empty: 'Nothing is known to have touched it.' },
    columns: [
      {
        head: 'What',
        isHead: true,
        cell: ({ thing, machine }) => (thing ? linkTo(thing.id) : `machine ${machine?.name ?? ''}`),
      },
      { head: 'Station', cell: ({ station }) => station.toLowerCase() },
      { head: 'Standing', cell: ({ standing }) => standingWords(standing) },
      { head: 'Chance', isNumber: true, cell: ({ chance }) => chanceWords(chance.value) },
    ],
  })
}

function gapsOf({ completeness }: Found): string[] {
  return [completeness.sentence, ...completeness.gaps.map((gap) => gap.sentence)].map(plain)
}

function brokenSaid({ sentence: told, knownUpTo, completeness }: Broken): Said {
  return {
    answer: plain(told),
    ...{ isWhole: false, gaps: [completeness.sentence] },
    body: html`<p>Known up to there: ${knownUpTo.map(({ id }, i) => html`${i > 0 ? ', ' : ''}${linkTo(id)}`)}</p>`,
    rests: restsView(completeness),
    asOf: completeness.asOf,
  }
}

function unclearSaid({ candidates }: Unclear): Said {
  return {
    answer: 'It may be one of these',
    body: html`<ul class="candidates">
      ${candidates.map(
        ({ because, fit, thing }) =>
          html`<li>${linkTo(thing.id)}: ${plain(because)} Fits ${chanceWords(fit)}.</li>`,
      )}
    </ul>`,
  }
}

function missingSaid({ sentence: told, near }: Missing): Said {
  return {
    answer: plain(told),
    body:
      near.length > 0
        ? html`<p>Easily mixed up: ${near.map((name, i) => html`${i > 0 ? ', ' : ''}${linkTo(name)}`)}</p>`
        : nothing,
  }
}

function linkTo(id: string): TemplateResult {
  return html`<a href="/origins?${new URLSearchParams({ of: id })}">${thingWords(id)}</a>`
}
