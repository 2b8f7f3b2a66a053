// Holding what a reach says to hold, or opening a recall on it: shown as the sentence it will publish first.
import { html, nothing, type TemplateResult } from 'lit-html'
import { askHold, askRecall, type FoundFragment } from '../../asks/reach.ts'
import { Decision } from '../../frame/decision.ts'
import type { Desk } from '../../frame/page.ts'
import { counted } from '../../words/number.ts'

export type Deed = 'hold' | 'recall'

/** Both deeds of one answer; a new answer has new ones. */
export class Deciding {
  readonly #desk: Desk
  readonly #found: FoundFragment
  readonly #decision: Decision
  #open: Deed | undefined
  #isAgain = false

  constructor(desk: Desk, found: FoundFragment) {
    this.#desk = desk
    this.#found = found
    this.#decision = new Decision(() => desk.redraw())
  }

  /** What can be done about them; a recall only where some have left. */
  buttons(): TemplateResult | typeof nothing {
    const { castings, places } = this.#found
    if (castings.toHold === 0) return nothing
    const hasLeft = places.some((each) => each.place === 'SHIPPED' && each.castings.toHold > 0)
    return html`<p class="deeds">
      ${this.#button('hold', `Hold these ${counted(castings.toHold, 'casting')}`)}
      ${hasLeft ? this.#button('recall', 'Open a recall') : nothing}
    </p>`
  }

  #button(deed: Deed, words: string): TemplateResult {
    const open = () => {
      this.#open = this.#open === deed ? undefined : deed
      this.#isAgain = false
      this.#decision.clear()
    }
    return html`<button type="button" aria-expanded=${this.#open === deed} @click=${open}>${words}</button>`
  }

  /** Reason, words for reps, until when, and the sentence that will be published. */
  form(): TemplateResult | typeof nothing {
    const deed = this.#open
    if (!deed) return nothing
    const isRecall = deed === 'recall'
    const publish = (event: SubmitEvent) => {
      event.preventDefault()
      this.#publish(deed, new FormData(event.currentTarget as HTMLFormElement))
    }
    const outcome = this.#decision.outcome
    const isDone = outcome?.__typename === 'Published' || outcome?.__typename === 'AlreadyPublished'
    if (outcome?.__typename === 'LookAgain') this.#isAgain = true
    const leave = () => {
      this.#open = undefined
      this.#decision.clear()
    }
    return html`<form class="decide" @submit=${publish} aria-label=${isRecall ? 'Open a recall' : 'Hold'}>
      <h3>${isRecall ? 'Open a recall' : 'Hold what must be held'}</h3>
      <label>Reason, for colleagues <input name="reason" required maxlength="2000" autocomplete="off" /></label>
      <label>Words for those who talk to customers
        <textarea name="say" rows="2" maxlength="2000" ?required=${isRecall}></textarea></label>
      <label>Decide by <input name="due" type="datetime-local" /></label>
      <p class="will"><strong>This will publish</strong> ${this.sentence(deed)}</p>
      ${
        isDone
          ? nothing
          : html`<p class="deeds"><button ?disabled=${this.#decision.isUnderWay}>${this.#isAgain ? 'Publish all the same' : 'Publish'}</button>
          <button type="button" @click=${leave}>Leave it</button></p>`
      }
      ${this.#decision.view()}
    </form>`
  }

  /** What is published, before it is. */
  sentence(deed: Deed): string {
    const { castings, places, id } = this.#found
    const packs = places.reduce((sum, place) => sum + place.packs, 0)
    const what = `${counted(castings.toHold, 'casting')}, ${counted(packs, 'pack')} among them,`
    return deed === 'hold'
      ? `a hold on ${what} in your name, on answer ${shortNumber(id)}.`
      : `a recall of ${what} wherever they are, in your name, on answer ${shortNumber(id)}.`
  }

  #publish(deed: Deed, said: FormData): void {
    const text = (name: string) => String(said.get(name) ?? '').trim()
    const due = text('due') === '' ? null : new Date(text('due')).toISOString()
    const evenIfChanged = this.#isAgain
    const common = { reason: text('reason'), due, evenIfChanged }
    const answer = this.#found.id
    if (deed === 'hold')
      void this.#decision.publish(
        askHold,
        (reportId) => ({
          input: { reportId, of: { answer }, say: text('say') || null, ...common },
        }),
        ({ placeHold }) => placeHold,
      )
    else
      void this.#decision.publish(
        askRecall,
        (reportId) => ({ input: { reportId, answer, say: text('say'), ...common } }),
        ({ openRecall }) => openRecall,
      )
    this.#desk.redraw()
  }
}

/** The end of a number, by which two answers are told apart; paper has all of it. */
export function shortNumber(id: string): string {
  return id.slice(-6)
}
