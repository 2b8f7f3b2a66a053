// Which packs are to be found? One a screen, for a phone and gloves; counts wait where there is no network.
import { html, nothing, type TemplateResult } from 'lit-html'
import { askToFind, type ToFindQuery, type ToFindQueryVariables } from '../asks/recall.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { newReportNumber } from '../frame/report-number.ts'
import { stateView } from '../frame/sheet.ts'
import { wear } from '../frame/style.ts'
import { momentWords } from '../words/moment.ts'
import { counted, countWords } from '../words/number.ts'
import { thingWords } from '../words/standing.ts'
import { isFound, missingWords, onTheWay, spotWords, type ToFind, toFindIn } from './covered.ts'
import {
  type Count,
  countsKept,
  type KeptList,
  keepCount,
  keepList,
  keepNotHere,
  listKept,
  type NotHere,
  notHereKept,
  sendCounts,
} from './floor/counts.ts'
import { keepShell } from './floor/shell.ts'
import { Stray } from './floor/stray.ts'
import css from './floor.css?inline'
import { MattersPage } from './matters.ts'

wear(css)

export function openFloor(desk: Desk, parameters: URLSearchParams): Page {
  const of = parameters.get('of') ?? ''
  return of === '' ? new MattersPage(desk, '/floor') : new FloorPage(desk, of)
}

class FloorPage implements Page {
  readonly #desk: Desk
  readonly #of: string
  readonly #asked: Asked<ToFindQuery, ToFindQueryVariables>
  /** What is to be found, as the phone keeps it. */
  #list: KeptList | undefined
  #counts: Count[] = []
  #notHere: NotHere = {}
  #at = 0
  #isSome = false
  #stray: Stray | undefined
  #isSending = false
  readonly #online = () => void this.#send()

  constructor(desk: Desk, of: string) {
    this.#desk = desk
    this.#of = of
    this.#asked = new Asked(askToFind, () => desk.redraw())
    window.addEventListener('online', this.#online)
    void this.#start()
  }

  title(): string {
    return `Which packs of ${thingWords(this.#of)} are to be found?`
  }

  hear({ kind }: News): void {
    if (kind === 'connected' || kind === 'reports') void this.#send()
  }

  close(): void {
    window.removeEventListener('online', this.#online)
  }

  get #rows(): ToFind[] {
    return this.#list?.rows ?? []
  }

  /** A scanned pack opens where it is on the list. */
  scan(text: string): void {
    const wanted = text.trim().toUpperCase()
    const fits = (row: ToFind) =>
      [row.id.slice(row.id.indexOf(':') + 1), ...row.marks].some(
        (name) => name.toUpperCase() === wanted,
      )
    const found = this.#rows.findIndex((row) => fits(row) && !this.#isDone(row))
    const at = found >= 0 ? found : this.#rows.findIndex(fits)
    this.#stray = at < 0 ? new Stray(this.#desk, text) : undefined
    navigator.vibrate?.(at < 0 ? [200, 100, 200] : 80)
    if (at >= 0) this.#go(at)
    else this.#desk.say(`${text} is not on the list: leave it.`, true)
    this.#desk.redraw()
  }

  view(): TemplateResult {
    const row = this.#rows[this.#at]
    const { standing } = this.#asked
    return html`<main id="sheet" class="floor">
      <h1 class="question" tabindex="-1">${this.title()}</h1>
      ${stateView({ desk: this.#desk, asked: { standing, again: () => this.#ask(), stop: () => this.#asked.stop() } })}
      ${this.#list ? this.#tallyView(this.#list) : nothing}
      ${window.isSecureContext ? nothing : html`<p class="gap">Keep this page open: from this address it does not open again where there is no network.</p>`}
      ${this.#stray?.view() ?? nothing}
      ${this.#counts.flatMap(({ of, trouble }) => (trouble === undefined ? [] : [html`<p class="state trouble">${thingWords(of)} was not taken: ${trouble}</p>`]))}
      ${row ? this.#rowView(row) : standing.is === 'answered' ? this.#emptyView(standing.data) : nothing}
    </main>`
  }

  #tallyView({ rows, partsMissing, at }: KeptList): TemplateResult {
    const found = rows.filter((each) => this.#isDone(each)).length
    const kind = rows.every(({ id }) => id.startsWith('pack:')) ? 'pack' : 'thing'
    const isOld = this.#asked.standing.is === 'failed'
    return html`
      <p role="status" class="tally">${countWords(found)} of ${counted(rows.length, kind)} found${this.#lostWords(rows)}${this.#unsentWords()}</p>
      ${missingWords(partsMissing).map((words) => html`<p class="gap">${words}</p>`)}
      ${isOld ? html`<p>The list is of ${momentWords(at)}.</p>` : nothing}`
  }

  #emptyView({ node }: ToFindQuery): TemplateResult {
    const isMatter = node?.__typename === 'Recall' || node?.__typename === 'Hold'
    return html`<h2 class="answer" tabindex="-1">${isMatter ? 'Nothing of what it covers was last told to be in the plant.' : `There is no ${thingWords(this.#of)}.`}</h2>`
  }

  async #start(): Promise<void> {
    this.#counts = await countsKept()
    this.#list = await listKept(this.#of)
    this.#notHere = await notHereKept(this.#of)
    this.#desk.redraw()
    await this.#ask()
    this.#at = Math.max(
      0,
      this.#rows.findIndex((row) => !this.#isDone(row)),
    )
    this.#desk.redraw()
    await this.#send()
    await keepShell()
  }

  /** All of it before any of it is shown: half a list says of the other half that nobody need look. */
  async #ask(): Promise<void> {
    const rows = new Map<string, ToFind>()
    let after: string | null = null
    let partsMissing = 0
    do {
      await this.#asked.ask({ of: this.#of, after })
      const { standing } = this.#asked
      const node: ToFindQuery['node'] = standing.is === 'answered' ? standing.data.node : null
      if (node?.__typename !== 'Recall' && node?.__typename !== 'Hold') return
      for (const row of toFindIn(node)) rows.set(row.id, row)
      partsMissing = node.partsMissing
      after = node.covers.pageInfo.hasNextPage ? node.covers.pageInfo.endCursor : null
    } while (after !== null)
    await this.#keep([...rows.values()].sort(onTheWay), partsMissing)
  }

  async #keep(rows: ToFind[], partsMissing: number): Promise<void> {
    this.#list = { rows, partsMissing, at: new Date().toISOString() }
    this.#desk.redraw()
    await keepList(this.#of, this.#list)
  }

  async #send(): Promise<void> {
    if (this.#isSending) return
    this.#isSending = true
    try {
      this.#counts = await sendCounts()
    } finally {
      this.#isSending = false
    }
    this.#desk.redraw()
  }

  #isDone(row: ToFind): boolean {
    return isFound(row) || this.#counts.some(({ of, trouble }) => of === row.id && !trouble)
  }

  #lostWords(rows: readonly ToFind[]): string {
    const lost = rows.filter((row) => this.#notHere[row.id] && !this.#isDone(row)).length
    return lost === 0 ? '' : `, ${countWords(lost)} not where told`
  }

  #unsentWords(): string {
    const unsent = this.#counts.filter(({ trouble }) => trouble === undefined).length
    return unsent === 0 ? '' : `, ${countWords(unsent)} not sent yet`
  }

  #rowView(row: ToFind): TemplateResult {
    const { id, marks, product, castings } = row
    const lost = this.#isDone(row) ? undefined : this.#notHere[id]
    const foundSome = (event: SubmitEvent) => {
      event.preventDefault()
      const said = new FormData(event.currentTarget as HTMLFormElement).get('castings')
      void this.#found(row, Number(said))
    }
    const scanned = (event: SubmitEvent) => {
      event.preventDefault()
      const form = event.currentTarget as HTMLFormElement
      this.scan(String(new FormData(form).get('mark') ?? ''))
      form.reset()
    }
    const step = (by: number) => () => this.#go(this.#at + by)
    return html`
      <h2 class="answer bay" tabindex="-1">${spotWords(row)}</h2>
      <p class="pack">${[thingWords(id), ...marks, product, countWords(castings)].filter(Boolean).join(', ')}</p>
      ${this.#isDone(row) ? html`<p><strong>☑ found</strong></p>` : nothing}
      ${lost ? html`<p>Not here, said ${momentWords(lost)}. That stays on this phone: what is not found stays not known.</p>` : nothing}
      <div class="keys">
        <button type="button" class="deciding" @click=${() => this.#found(row, null)}>Found all ${countWords(castings)}</button>
        <button type="button" @click=${() => this.#some()}>Found some</button>
        ${
          this.#isSome
            ? html`<form class="some" @submit=${foundSome}>
              <label>How many <input name="castings" type="number" min="1" max=${castings} required inputmode="numeric" /></label>
              <button>Keep</button>
            </form>`
            : nothing
        }
        <button type="button" @click=${() => this.#lost(row)}>Not here</button>
        <button type="button" ?disabled=${this.#at === 0} @click=${step(-1)}>Back</button>
        <button type="button" ?disabled=${this.#at >= this.#rows.length - 1} @click=${step(1)}>Next</button>
      </div>
      <form class="some" @submit=${scanned}>
        <label>Scan <input name="mark" required autocomplete="off" autocapitalize="characters" /></label>
        <button>Find it</button>
      </form>`
  }

  #some(): void {
    this.#isSome = !this.#isSome
    this.#desk.redraw()
  }

  async #lost({ id }: ToFind): Promise<void> {
    this.#notHere = { ...this.#notHere, [id]: new Date().toISOString() }
    this.#go(this.#at + 1)
    await keepNotHere(this.#of, this.#notHere)
  }

  async #found(row: ToFind, castings: number | null): Promise<void> {
    if (this.#isDone(row)) return
    const count = { under: this.#of, of: row.id, castings, spot: row.spot }
    await keepCount({ ...count, reportId: newReportNumber(), at: new Date().toISOString() })
    row.dealtWith = castings ?? row.castings
    await keepList(this.#of, this.#list!)
    this.#counts = await countsKept()
    navigator.vibrate?.(80)
    this.#desk.say(`${thingWords(row.id)}: ${countWords(castings ?? row.castings)} found.`)
    this.#go(this.#at + 1)
    await this.#send()
  }

  #go(at: number): void {
    this.#isSome = false
    this.#at = Math.max(0, Math.min(at, this.#rows.length - 1))
    this.#desk.redraw()
  }
}
