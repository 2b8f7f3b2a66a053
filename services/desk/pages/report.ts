// What does this report say? As it was entered, in its units, and what replaced it; of a thing, its reports.
import { html, nothing, type TemplateResult } from 'lit-html'
import {
  askComplaints,
  askReport,
  type ComplaintsQuery,
  type ReportQuery,
  type ReportQueryVariables,
} from '../asks/report.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { ENTERED } from '../parts/entered.ts'
import { type Column, table } from '../parts/figure.ts'
import { Since } from '../parts/since.ts'
import { momentWords } from '../words/moment.ts'
import { addressOfThing } from '../words/next-questions.ts'
import { counted } from '../words/number.ts'
import { plain } from '../words/plain.ts'
import { thingWords } from '../words/standing.ts'

type Node = NonNullable<ReportQuery['node']>
type Report = Extract<Node, { __typename: 'Report' }>
type ThingReports = Extract<Node, { reports: unknown }>
type Row = ThingReports['reports']['edges'][number]['node']
type Complaint = ComplaintsQuery['complaints']['edges'][number]['node']

export function openReport(desk: Desk, parameters: URLSearchParams): Page {
  const of = parameters.get('of') ?? ''
  return of.startsWith('complaint:') ? new ComplaintPage(desk, of) : new ReportPage(desk, of)
}

class ReportPage implements Page {
  readonly #desk: Desk
  readonly #of: string
  readonly #asked: Asked<ReportQuery, ReportQueryVariables>
  readonly #since = new Since()

  constructor(desk: Desk, of: string) {
    this.#desk = desk
    this.#of = of
    this.#asked = new Asked(askReport, () => desk.redraw())
    if (of !== '') this.#ask()
  }

  title(): string {
    if (this.#of === '') return 'What does a report say?'
    return this.#of.startsWith('report:')
      ? 'What does this report say?'
      : `Which reports name ${thingWords(this.#of)}?`
  }

  hear(news: News): void {
    this.#since.hear(news)
  }

  view(): TemplateResult {
    return sheet<ReportQuery>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`${this.title()}`,
      empty: html`<p>Name a report or a thing in the field above: a number in an answer leads here too.</p>`,
      said: (data) => this.#said(data),
    })
  }

  #ask(): void {
    this.#since.clear()
    void this.#asked.ask({ of: this.#of, entered: this.#desk.who.roles.includes('quality') })
  }

  #said({ node }: ReportQuery): Said {
    const since = this.#since.view(() => this.#ask())
    if (!node || !('sentence' in node || 'reports' in node))
      return { answer: `Nothing is known of ${thingWords(this.#of)}.`, since }
    return { ...('reports' in node ? reportsSaid(node) : reportSaid(node)), since }
  }
}

function reportsSaid({ id, reports }: ThingReports): Said {
  const rows = reports.edges.map(({ node }) => node)
  const more = reports.totalCount - rows.length
  const name = thingWords(id)
  return {
    answer: `${counted(reports.totalCount, 'report names', 'reports name')} ${name}.`,
    body: html`
      ${table({ caption: `Reports that name ${name}, newest first`, columns: REPORTS, rows, empty: `Others have named ${name}; nobody reported it.` })}
      ${more > 0 ? html`<p>${counted(more, 'older one is', 'older ones are')} not shown.</p>` : nothing}
    `,
  }
}

const REPORTS: Column<Row>[] = [
  {
    head: 'Report',
    isHead: true,
    cell: ({ id, sentence }) => html`<a href=${addressOfThing(id)}>${plain(sentence)}</a>`,
  },
  { head: 'Station', cell: ({ station }) => station.toLowerCase() },
  { head: 'Taken in', cell: ({ recordedAt }) => momentWords(recordedAt) },
  { head: 'Counts', cell: countsWords },
]

function countsWords({ inForce, setAsideFor }: Pick<Row, 'inForce' | 'setAsideFor'>): string {
  if (setAsideFor !== null) return 'set aside'
  return inForce ? 'yes' : 'no, replaced'
}

function reportSaid(report: Report): Said {
  const { sentence, setAsideFor, replacedBy, replaces, flags, entered } = report
  return {
    answer: plain(sentence),
    gaps: setAsideFor === null ? [] : [`Set aside: ${setAsideFor}`],
    body: html`
      <dl class="facts">
        <dt>Said by</dt><dd>${report.station.toLowerCase()}${report.source === null ? nothing : html`, ${report.source}`}</dd>
        ${report.happenedAt === null ? nothing : html`<dt>Happened</dt><dd>${momentWords(report.happenedAt)}</dd>`}
        <dt>Taken in</dt><dd>${momentWords(report.recordedAt)}</dd>
        <dt>Counts</dt><dd>${countsWords(report)}</dd>
        ${flags.length === 0 ? nothing : html`<dt>Out of the ordinary</dt><dd>${flags.join(' ')}</dd>`}
        ${otherView('Replaced by', replacedBy)} ${otherView('Replaces', replaces)}
      </dl>
      ${entered ? table({ caption: 'As entered', columns: ENTERED, rows: entered, empty: 'Nothing was entered.' }) : nothing}
    `,
  }
}

function otherView(words: string, other: Report['replacedBy']): TemplateResult | typeof nothing {
  if (!other) return nothing
  return html`<dt>${words}</dt>
    <dd><a href=${addressOfThing(other.id)}>${plain(other.sentence)}</a>, ${momentWords(other.recordedAt)}</dd>`
}

class ComplaintPage implements Page {
  readonly #desk: Desk
  readonly #of: string
  readonly #asked: Asked<ComplaintsQuery, object>

  constructor(desk: Desk, of: string) {
    this.#desk = desk
    this.#of = of
    this.#asked = new Asked<ComplaintsQuery, object>(askComplaints, () => desk.redraw())
    void this.#asked.ask({})
  }

  title(): string {
    return `What did the caller of ${thingWords(this.#of)} say?`
  }

  view(): TemplateResult {
    return sheet<ComplaintsQuery>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`${this.title()}`,
      empty: html``,
      said: ({ complaints }) => {
        const found = complaints.edges.find(({ node }) => node.id === this.#of)
        if (!found) return { answer: `${thingWords(this.#of)} is not among the newest 200.` }
        return complaintSaid(found.node)
      },
    })
  }
}

function complaintSaid(complaint: Complaint): Said {
  const { hurt, defect, product, at, marks, confirmed, callBackAt, calledBackAt } = complaint
  const what = [defect, product?.name].filter(Boolean).join(' on ') || 'What is wrong was not told'
  const examined =
    confirmed === null ? 'not yet' : confirmed ? 'yes, and found' : 'yes, and not found'
  return {
    answer: `${hurt ? 'Somebody was hurt or fell ill. ' : ''}${what}.`,
    body: html`<dl class="facts">
      <dt>Reached us</dt><dd>${momentWords(at)}</dd>
      <dt>Marks as taken down</dt><dd>${marks.length === 0 ? 'none' : marks.join(', ')}</dd>
      <dt>Examined</dt><dd>${examined}</dd>
      ${callBackAt === null ? nothing : html`<dt>Call back</dt><dd>${calledBackAt === null ? `promised by ${momentWords(callBackAt)}` : `made ${momentWords(calledBackAt)}`}</dd>`}
    </dl>`,
    next: marks.slice(0, 4).map((mark) => ({
      sentence: `What is mark ${mark}?`,
      address: `/?${new URLSearchParams({ hand: mark })}`,
    })),
  }
}
