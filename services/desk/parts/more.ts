// A list that goes on: its further pages come when asked for, below those that are read.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { Ask } from '../frame/ask.ts'
import { Asked } from '../frame/asked.ts'
import type { Desk } from '../frame/page.ts'
import { stateView } from '../frame/sheet.ts'

export interface Listed<Edge> {
  edges: readonly Edge[]
  pageInfo: { hasNextPage: boolean; endCursor: string | null }
}

/** The pages after the first, which comes with the answer. */
export class More<Edge, Data, Variables> {
  readonly #desk: Desk
  readonly #asked: Asked<Data, Variables>
  readonly #listIn: (data: Data) => Listed<Edge> | undefined
  #later: readonly Edge[] = []
  #last: Listed<Edge>['pageInfo'] | undefined

  constructor(
    desk: Desk,
    what: Ask<Data, Variables>,
    listIn: (data: Data) => Listed<Edge> | undefined,
  ) {
    this.#desk = desk
    this.#listIn = listIn
    this.#asked = new Asked(what, () => {
      this.#take()
      // Until it takes long there is nothing else to be seen.
      const { standing } = this.#asked
      if (standing.is !== 'asking' || standing.shown) desk.redraw()
    })
  }

  /** All that is here. */
  edges(first: Listed<Edge>): readonly Edge[] {
    return this.#later.length === 0 ? first.edges : [...first.edges, ...this.#later]
  }

  /** Another first page, and nothing after it yet. */
  forget(): void {
    this.#later = []
    this.#last = undefined
    this.#asked.forget()
  }

  /** Has the next page come, or says why it does not. */
  view(
    first: Listed<Edge>,
    words: string,
    variables: (after: string | null) => Variables,
  ): TemplateResult | typeof nothing {
    const { hasNextPage, endCursor } = this.#last ?? first.pageInfo
    if (!hasNextPage) return nothing
    const { standing } = this.#asked
    const more = () => {
      if (this.#asked.standing.is !== 'asking') void this.#asked.ask(variables(endCursor))
    }
    const isToAsk = standing.is !== 'failed' && standing.is !== 'stopped'
    return html`${
      isToAsk
        ? html`<p><button type="button" ?disabled=${standing.is === 'asking'} @click=${more}>${words}</button></p>`
        : nothing
    }${stateView({ desk: this.#desk, asked: { standing, again: more, stop: () => this.#asked.stop() } })}`
  }

  #take(): void {
    const { standing } = this.#asked
    const list = standing.is === 'answered' ? this.#listIn(standing.data) : undefined
    if (!list) return
    this.#later = [...this.#later, ...list.edges]
    this.#last = list.pageInfo
  }
}
