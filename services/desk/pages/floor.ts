// Which packs are to be found? One a screen, for a phone and gloves; counts wait where there is no network.
import { html, nothing, type TemplateResult } from 'lit-html'
import { askMatter, type MatterQuery, type MatterQueryVariables } from '../asks/recall.ts'
import { Asked } from '../frame/asked.ts'
import type { News } from '../frame/news.ts'
import type { Desk, Page } from '../frame/page.ts'
import { stateView } from '../frame/sheet.ts'
import { clockWords } from '../words/moment.ts'
import { counted, countWords } from '../words/number.ts'
import { thingWords } from '../words/standing.ts'
import { isFound, type ToFind, toFindIn } from './covered.ts'
import {
  type Count,
  countsKept,
  keepCount,
  keepList,
  listKept,
  sendCounts,
} from './floor/counts.ts'
import { keepShell } from './floor/shell.ts'
import { MattersPage } from './matters.ts'
import './floor.css'

export function openFloor(desk: Desk, parameters: URLSearchParams): Page {
  const of = parameters.get('of') ?? ''
  return of === '' ? new MattersPage(desk, '/floor') : new FloorPage(desk, of)
}

class FloorPage implements Page {
  readonly #desk: Desk
  readonly #of: string
  readonly #asked: Asked<MatterQuery, MatterQueryVariables>
  #rows: ToFind[] = []
  #counts: Count[] = []
  /** Looked for in vain, by this phone: nothing is sent, since what is not found stays not known. */
  readonly #notHere = new Map<string, Date>()
  #at = 0
  #isSome = false
  #stray: string | undefined
  #isSending = false
  readonly #online = () => void this.#send()

  constructor(desk: Desk, of: string) {
    this.#desk = desk
    this.#of = of
    this.#asked = new Asked(askMatter, () => desk.redraw())
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

  /** A scanned pack opens where it is on the list. */
  scan(text: string): void {
    const wanted = text.trim().toUpperCase()
    const fits = (row: ToFind) =>
      [row.id.slice(row.id.indexOf(':') + 1), ...row.marks].some(
        (name) => name.toUpperCase() === wanted,
      )
    const found = this.#rows.findIndex((row) => fits(row) && !this.#isDone(row))
    const at = found >= 0 ? found : this.#rows.findIndex(fits)
    this.#stray = at < 0 ? text : undefined
    navigator.vibrate?.(at < 0 ? [200, 100, 200] : 80)
    if (at >= 0) this.#go(at)
    else this.#desk.say(`${text} is not on the list: leave it.`, true)
    this.#desk.redraw()
  }

  view(): TemplateResult {
    const row = this.#rows[this.#at]
    const found = this.#rows.filter((each) => this.#isDone(each)).length
    return html`<main id="sheet" class="floor">
      <h1 class="question">${this.title()}</h1>
      ${stateView({ desk: this.#desk, asked: this.#asked })}
      <p role="status" class="tally">${countWords(found)} of ${counted(this.#rows.length, 'pack')} found${this.#unsentWords()}</p>
      ${this.#stray === undefined ? nothing : html`<p class="stray"><strong>NOT ON THE LIST: leave it</strong> <a href=${`/?${new URLSearchParams({ hand: this.#stray })}`}>What is ${this.#stray}?</a></p>`}
      ${this.#counts.flatMap(({ of, trouble }) => (trouble === undefined ? [] : [html`<p class="state trouble">${thingWords(of)} was not taken: ${trouble}</p>`]))}
      ${row ? this.#rowView(row) : html`<p>No pack is shown for ${thingWords(this.#of)}.</p>`}
    </main>`
  }

  async #start(): Promise<void> {
    this.#counts = await countsKept()
    this.#rows = (await listKept(this.#of))?.rows ?? []
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

  async #ask(): Promise<void> {
    await this.#asked.ask({ of: this.#of })
    const { standing } = this.#asked
    const node = standing.is === 'answered' ? standing.data.node : undefined
    if (node?.__typename !== 'Recall' && node?.__typename !== 'Hold') return
    this.#rows = toFindIn(node)
    await keepList(this.#of, { rows: this.#rows, at: new Date().toISOString() })
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

  #unsentWords(): string {
    const unsent = this.#counts.filter(({ trouble }) => trouble === undefined).length
    return unsent === 0 ? '' : `, ${countWords(unsent)} not sent yet`
  }

  #rowView(row: ToFind): TemplateResult {
    const { id, spot, marks, product, castings } = row
    const lost = this.#notHere.get(id)
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
      <h2 class="answer bay" tabindex="-1">${spot}</h2>
      <p class="pack">${thingWords(id)} <span class="marks">${marks.join(', ')}</span> ${product}, ${countWords(castings)}</p>
      ${this.#isDone(row) ? html`<p><strong>☑ found</strong></p>` : nothing}
      ${lost ? html`<p>Not here, said ${clockWords(lost)}. Nothing was sent: what is not found stays not known.</p>` : nothing}
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

  #lost({ id }: ToFind): void {
    this.#notHere.set(id, new Date())
    this.#go(this.#at + 1)
  }

  async #found(row: ToFind, castings: number | null): Promise<void> {
    if (this.#isDone(row)) return
    const count = { under: this.#of, of: row.id, castings, spot: row.spot }
    await keepCount({ ...count, reportId: crypto.randomUUID(), at: new Date().toISOString() })
    row.dealtWith = castings ?? row.castings
    await keepList(this.#of, { rows: this.#rows, at: new Date().toISOString() })
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
