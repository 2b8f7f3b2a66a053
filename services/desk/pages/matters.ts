// What is on hold or recalled? All of it, open ones first.
import { html, type TemplateResult } from 'lit-html'
import { askMatters, type MattersQuery } from '../asks/recall.ts'
import { Asked } from '../frame/asked.ts'
import type { Desk, Page } from '../frame/page.ts'
import { sheet } from '../frame/sheet.ts'
import { type Column, table } from '../parts/figure.ts'
import { momentWords } from '../words/moment.ts'
import { counted } from '../words/number.ts'
import { thingWords } from '../words/standing.ts'

export class MattersPage implements Page {
  readonly #desk: Desk
  readonly #asked: Asked<MattersQuery, object>

  readonly #page: string

  /** Each leads to its page, which is of all that is known of it, or the list of what is to be found. */
  constructor(desk: Desk, page = '/recall') {
    this.#desk = desk
    this.#page = page
    this.#asked = new Asked<MattersQuery, object>(askMatters, () => desk.redraw())
    void this.#asked.ask({})
  }

  title(): string {
    return 'What is on hold or recalled?'
  }

  view(): TemplateResult {
    return sheet<MattersQuery>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`${this.title()}`,
      empty: html``,
      said: ({ recalls, holds }) => {
        const all = [...recalls.edges, ...holds.edges].map(({ node }) => node)
        const open = all.filter(({ state }) => state === 'OPEN')
        const rows = [...open, ...all.filter(({ state }) => state !== 'OPEN')]
        return {
          answer:
            open.length === 0
              ? 'Nothing is on hold or recalled.'
              : `${counted(open.length, 'hold or recall is', 'holds and recalls are')} open.`,
          body: table({
            caption: 'Open ones first, newest first',
            columns: columnsTo(this.#page),
            rows,
            empty: 'None was ever opened.',
          }),
        }
      },
    })
  }
}

type Row = MattersQuery['holds']['edges'][number]['node']

const columnsTo = (page: string): Column<Row>[] => [
  {
    head: 'What',
    isHead: true,
    cell: ({ id }) =>
      html`<a href=${`${page}?${new URLSearchParams({ of: id })}`}>${thingWords(id)}</a>`,
  },
  { head: 'Stands', cell: ({ state }) => state.toLowerCase() },
  { head: 'Since', cell: ({ at }) => momentWords(at) },
  { head: 'Why', cell: ({ reason }) => reason },
]
