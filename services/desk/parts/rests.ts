// What an answer rests on: eight short bars, receive to ship, each as far right as that station is heard.
import { html, nothing, type TemplateResult } from 'lit-html'
import type { DirectiveResult } from 'lit-html/directive.js'
import { guard } from 'lit-html/directives/guard.js'
import { heardBars } from '../drawings/heard-bars.ts'
import type { Desk } from '../frame/page.ts'
import { momentWords } from '../words/moment.ts'
import { drawn } from './figure.ts'

export interface RestsOn {
  asOf: string
  stations: { station: string; heardUpTo?: string | null; waiting: number; lateMinutes: number }[]
  setAside?: number
  namedOnly?: number
  inferred?: number
  conflicts?: number
}

/** Unit: px. */
const WIDEST = 640

/** The bars, the same as a table, and what is open in words; drawn once for each answer. */
export function restsView(rests: RestsOn, { room }: Pick<Desk, 'room'>): DirectiveResult {
  return guard([rests, room], () => restsDrawn(rests, room))
}

function restsDrawn(rests: RestsOn, room: number): TemplateResult {
  const open = [
    [rests.setAside, 'set aside'],
    [rests.namedOnly, 'named but not reported'],
    [rests.inferred, 'placed by time'],
    [rests.conflicts, 'in conflict'],
  ].filter(([count]) => count)
  return html`
    <section aria-label="What this rests on" class="rests">
      <h3>What this rests on</h3>
      <div aria-hidden="true">${drawn(heardBars(rests, Math.min(WIDEST, room)))}</div>
      <details>
        <summary>The same as a table</summary>
        <table>
          <thead><tr><th scope="col">Station</th><th scope="col">Heard up to</th><th scope="col" class="number">Waiting</th></tr></thead>
          <tbody>
            ${rests.stations.map(
              ({ station, heardUpTo, waiting }) => html`<tr>
                <th scope="row">${station.toLowerCase()}</th>
                <td>${heardUpTo ? momentWords(heardUpTo) : 'not heard yet'}</td>
                <td class="number">${waiting}</td>
              </tr>`,
            )}
          </tbody>
        </table>
      </details>
      ${rests.setAside === undefined ? nothing : html`<p>${open.length > 0 ? `${open.map(([count, words]) => `${count} ${words}`).join(', ')}.` : 'Nothing was set aside, and nothing named that was not reported.'}</p>`}
    </section>
  `
}
