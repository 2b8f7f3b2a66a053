// The furnace as a level around the heats of a piece, and how much of it was the lot that is followed.
import { html, nothing, type TemplateResult } from 'lit-html'
import { bathLevel, bathSentence, teethOf } from '../../drawings/bath-level.ts'
import type { Desk } from '../../frame/page.ts'
import { figure, table } from '../../parts/figure.ts'
import { choice } from '../../parts/settings.ts'
import { shareWords } from '../../words/number.ts'
import { plain } from '../../words/plain.ts'
import { thingWords } from '../../words/standing.ts'
import { massWords } from '../../words/units.ts'
import type { Bath, Found } from './found.ts'

/** The furnace around the likeliest heat; `change` is told which other lot to follow. */
export function furnaceView(
  origins: Found,
  bath: Bath | undefined,
  { desk, follow, change }: { desk: Desk; follow: string; change(lot: string): void },
): TemplateResult | typeof nothing {
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
  const pick = (event: Event) => change((event.target as HTMLSelectElement).value)
  return html`<section class="bath" @change=${pick}>
    ${figure({
      title: `Furnace ${heat.furnace?.number ?? ''} around ${thingWords(heat.id)}`,
      svg: bathLevel(level, desk.room),
      sentence: `Of ${thingWords(follow)} at the fullest: ${bathSentence(level)}.`,
      table: table({
        caption: `Furnace ${heat.furnace?.number ?? ''}, heat by heat`,
        rows: teethOf(level),
        columns: [
          { head: 'Heat', isHead: true, cell: (tooth) => thingWords(tooth.heat) },
          {
            head: 'At most in it',
            isNumber: true,
            cell: (tooth) =>
              massWords(Math.max(...bath.kg.slice(tooth.from, tooth.to)), desk.units),
          },
          {
            head: thingWords(follow),
            isNumber: true,
            cell: ({ share }) => shareWords(share),
          },
        ],
      }),
    })}
    <p>Metal in it, and how much of that was ${choice({ name: 'follow', label: 'lot to follow', value: follow, options: lots })}.
      A step up: filled; a step down: tapped; the floor of the teeth is the heel.
      ${heat.misfit?.toldApart ? html`<strong>${plain(heat.misfit.sentence)}</strong>` : nothing}</p>
  </section>`
}
