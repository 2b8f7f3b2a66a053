// Which castings and defects a question is about, as the address holds it, and the words to choose from.
import { html, type TemplateResult } from 'lit-html'
import { askLooks, type LooksQuery, type LooksQueryVariables } from '../asks/looks.ts'
import { Asked } from '../frame/asked.ts'
import type { Desk } from '../frame/page.ts'
import { stateView } from '../frame/sheet.ts'
import { choice, day, type Option } from '../parts/settings.ts'
import { dayField, startOfDay } from '../words/moment.ts'
import { countWords } from '../words/number.ts'

export interface About {
  stage: string
  /** Any, when empty. */
  defect: string
  /** All, when empty. */
  product: string
  from: string
  /** Not included. */
  to: string
}

/** So much before the newest look is taken when nobody says otherwise. Unit: days. */
const USUAL_DAYS = 7

type Look = LooksQuery['inspections']['edges'][number]['node']

/** What a question may be filled in with; asked once a page. */
export class Looks {
  readonly #asked: Asked<LooksQuery, LooksQueryVariables>
  readonly #desk: Desk

  constructor(desk: Desk) {
    this.#desk = desk
    this.#asked = new Asked(askLooks, () => desk.redraw())
    void this.#asked.ask({})
  }

  get #looks(): Look[] {
    return this.#asked.data?.inspections.edges.map(({ node }) => node) ?? []
  }

  /** What is asked when nothing is said: the newest days of the stage looked at last. */
  usual(): About {
    const [newest] = this.#looks
    const last = dayField(newest?.at ?? new Date())
    return {
      ...{ stage: newest?.stage ?? '', defect: '', product: '' },
      from: startOfDay(last, 1 - USUAL_DAYS).toISOString(),
      to: startOfDay(last, 1).toISOString(),
    }
  }

  /** Each defect of each stage with a link that asks about it, the most first. */
  list(addressOf: (about: About) => string, words: (about: About) => string): TemplateResult {
    const found = new Map<string, { about: About; castings: number; bad: number }>()
    const seen = new Map<string, number>()
    for (const { stage, castings, defects } of this.#looks) {
      seen.set(stage, (seen.get(stage) ?? 0) + castings)
      for (const { defect, castings: bad } of defects) {
        const about = { ...this.usual(), stage, defect }
        const one = found.get(`${stage} ${defect}`) ?? { about, castings: 0, bad: 0 }
        one.bad += bad
        found.set(`${stage} ${defect}`, one)
      }
    }
    const rows = [...found.values()].sort((a, b) => b.bad - a.bad)
    return html`<section class="empty" aria-label="To begin with">
      ${stateView({ desk: this.#desk, asked: this.#asked })}
      ${rows.length > 0 ? html`<p>Found in the newest ${countWords(this.#looks.length)} looks:</p>` : ''}
      ${this.#asked.data && rows.length === 0 ? html`<p>No inspection has been reported yet.</p>` : ''}
      <ul class="candidates">
        ${rows.map(
          ({ about, bad }) => html`<li>
            <a href=${addressOf(about)}>${words(about)}</a>
            <span class="quiet">${countWords(bad)} of ${countWords(seen.get(about.stage)!)}</span>
          </li>`,
        )}
      </ul>
    </section>`
  }

  defect(about: About): TemplateResult {
    const known = new Set(this.#looks.flatMap(({ defects }) => defects.map(({ defect }) => defect)))
    const options = [{ value: '', words: 'defective' }, ...optionsOf(known)]
    return choice({ name: 'defect', label: 'Defect', value: about.defect, options })
  }

  product(about: About): TemplateResult {
    const known = new Set(this.#looks.flatMap(({ product }) => product?.name ?? []))
    const options = [{ value: '', words: 'all products' }, ...optionsOf(known)]
    return choice({ name: 'product', label: 'Product', value: about.product, options })
  }

  stage(about: About): TemplateResult {
    const options = optionsOf(new Set(this.#looks.map(({ stage }) => stage)))
    return choice({ name: 'stage', label: 'Looked at', value: about.stage, options })
  }
}

export function fromView(about: About): TemplateResult {
  return day({ name: 'from', label: 'First day', value: dayField(about.from) })
}

export function untilView({ to }: About): TemplateResult {
  const last = new Date(new Date(to).getTime() - 1)
  return day({ name: 'until', label: 'Last day', value: dayField(last) })
}

function optionsOf(values: ReadonlySet<string>): Option[] {
  return [...values].sort().map((value) => ({ value, words: value.replaceAll('-', ' ') }))
}

/** As the address holds it; undefined when nothing is asked. */
export function aboutIn(parameters: URLSearchParams): About | undefined {
  const [stage, from, to] = ['stage', 'from', 'to'].map((name) => parameters.get(name))
  if (!stage || !from || !to) return undefined
  const text = (name: string) => parameters.get(name) ?? ''
  return { stage, from, to, defect: text('defect'), product: text('product') }
}

/** As the form of the sentence says it. */
export function aboutSaid(said: FormData): About {
  const text = (name: string) => String(said.get(name) ?? '')
  return {
    ...{ stage: text('stage'), defect: text('defect'), product: text('product') },
    from: startOfDay(text('from')).toISOString(),
    to: startOfDay(text('until'), 1).toISOString(),
  }
}

/** For an address: what is left open is left out. */
export function aboutParameters(about: About): Record<string, string> {
  return Object.fromEntries(Object.entries(about).filter(([, value]) => value !== ''))
}

/** For the house. */
export function defectQuestion({ stage, defect, product, from, to }: About) {
  return {
    stage,
    defects: defect === '' ? null : [defect],
    product: product === '' ? null : product,
    window: { from, to },
  }
}
