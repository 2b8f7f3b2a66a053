// What could not be read: why, what it says as it came, and a way to put it through again.
import { html, nothing, type TemplateResult } from 'lit-html'
import { repeat } from 'lit-html/directives/repeat.js'
import {
  askPutThrough,
  askSetAside,
  type SetAsideQuery,
  type SetAsideQueryVariables,
} from '../asks/set-aside.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { type Said, sheet } from '../frame/sheet.ts'
import { Decisions } from '../parts/decisions.ts'
import { ENTERED } from '../parts/entered.ts'
import { table } from '../parts/figure.ts'
import { More } from '../parts/more.ts'
import { Since } from '../parts/since.ts'
import { momentWords } from '../words/moment.ts'
import { counted } from '../words/number.ts'

type Aside = SetAsideQuery['setAside']['edges'][number]['node']

const WHY: Record<string, string> = {
  UNDECODABLE: 'no event',
  OVERSIZE: 'too large',
  SCHEMA: 'fields do not fit',
  UNKNOWN: 'type not known',
  FORGED: 'type, station and source do not agree',
  DOMAIN: 'impossible by itself',
}

export function openSetAside(desk: Desk): Page {
  return new SetAsidePage(desk)
}

class SetAsidePage implements Page {
  readonly #desk: Desk
  readonly #asked: Asked<SetAsideQuery, SetAsideQueryVariables>
  readonly #replays: Decisions
  readonly #more
  readonly #since = new Since()

  constructor(desk: Desk) {
    this.#desk = desk
    this.#asked = new Asked(askSetAside, () => desk.redraw())
    this.#more = new More(desk, askSetAside, ({ setAside }) => setAside)
    this.#replays = new Decisions(
      () => desk.redraw(),
      () => this.#ask(),
    )
    this.#ask()
  }

  title(): string {
    return 'What could not be read?'
  }

  hear(news: News): void {
    this.#since.hear(news)
  }

  close(): void {
    this.#replays.end()
  }

  view(): TemplateResult {
    return sheet<SetAsideQuery>({
      ...{ desk: this.#desk, asked: this.#asked },
      question: html`What could not be read, newest first?`,
      empty: html``,
      said: (data) => this.#said(data),
    })
  }

  #ask(): void {
    this.#since.clear()
    this.#more.forget()
    void this.#asked.ask({})
  }

  #said({ setAside }: SetAsideQuery): Said {
    const { totalCount } = setAside
    const edges = this.#more.edges(setAside)
    return {
      answer:
        totalCount === 0
          ? 'Nothing was set aside.'
          : `${counted(totalCount, 'report was', 'reports were')} set aside. What they say is in no answer.`,
      since: this.#since.view(() => this.#ask()),
      body: html`
        ${repeat(
          edges,
          ({ node }) => node.id,
          ({ node }) => this.#asideView(node),
        )}
        ${this.#more.view(setAside, 'Show 20 more', (after) => ({ after }))}
      `,
    }
  }

  #asideView({ id, station, source, recordedAt, setAsideAs, setAsideFor, entered }: Aside) {
    const mayEdit = this.#desk.who.roles.includes('quality')
    const replay = this.#replays.of(id)
    const put = (edited: string | null) =>
      this.#replays.publish(
        id,
        askPutThrough,
        () => ({ input: { report: id, edited } }),
        ({ replaySetAside }) => replaySetAside,
      )
    const putRight = (event: SubmitEvent) => {
      event.preventDefault()
      const said = new FormData(event.currentTarget as HTMLFormElement).get('edited')
      void put(String(said ?? ''))
    }
    const raw = entered.find(({ field }) => field === 'as sent')?.value ?? ''
    return html`<article class="aside">
      <h3>${station.toLowerCase()}, ${momentWords(recordedAt)}: ${WHY[setAsideAs ?? ''] ?? 'not readable'}</h3>
      <p>${setAsideFor} ${source === null ? nothing : html`<span class="quiet">${source}</span>`}</p>
      <details>
        <summary>What it says</summary>
        ${raw === '' ? table({ caption: 'As it came', columns: ENTERED, rows: entered, empty: 'It is empty.' }) : html`<pre class="raw">${raw}</pre>`}
      </details>
      ${
        mayEdit
          ? html`<details>
            <summary>Put it right</summary>
            <form class="plain complaint" @submit=${putRight}>
              <label>The event put right, as the JSON of a CloudEvent
                <textarea name="edited" rows="6" required .value=${raw}></textarea></label>
              <button ?disabled=${replay.isUnderWay}>Put it through as written here</button>
            </form>
          </details>`
          : nothing
      }
      <p><button type="button" ?disabled=${replay.isUnderWay} @click=${() => put(null)}>Put it through again</button></p>
      ${replay.view()}
    </article>`
  }
}
