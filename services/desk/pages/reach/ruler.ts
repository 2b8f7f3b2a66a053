// The ruler of a reach: dragged on the drawing, moved by keys or by buttons, exact where it is let go.
import { html, svg, type TemplateResult } from 'lit-html'
import type { DirectiveResult } from 'lit-html/directive.js'
import { guard } from 'lit-html/directives/guard.js'
import {
  type Curve,
  decadesOf,
  nearest,
  type RulerLayers,
  type RulerPlace,
  rulerSentence,
  type Strip,
  shareAt,
  takenAt,
} from '../../drawings/reach-ruler.ts'
import { figure, table } from '../../parts/figure.ts'
import { countWords, shareWords } from '../../words/number.ts'
import { outsideWords, rulerWords } from '../../words/reach-words.ts'

/** A third of a decade: what one press is worth. */
const PRESS = 10 ** (1 / 3)

export interface RulerParts {
  strip: Strip
  curve: Curve
  layers: RulerLayers
  place: RulerPlace
  move(place: RulerPlace): void
}

export function rulerView(parts: RulerParts): TemplateResult {
  const { strip, curve, place } = parts
  const last = curve.share.length - 1
  const placeAt = (i: number) => takenAt(curve, curve.share[Math.min(last, Math.max(0, i))]!)
  const to = (share: number) => placeAt(nearest(curve, share))
  const byPointer = (event: PointerEvent) => {
    // A finger scrolls the page; it has the buttons.
    if (event.pointerType === 'touch' || event.buttons === 0) return
    const drawn = (event.currentTarget as HTMLElement).querySelector('svg')
    if (!drawn) return
    const box = drawn.getBoundingClientRect()
    const y = ((event.clientY - box.top) / box.height) * drawn.viewBox.baseVal.height
    const next = to(shareAt(curve, y))
    parts.move(next)
  }
  const press = (times: number) => () => parts.move(to(place.share * times))
  const index = (event: Event) => placeAt(Number((event.currentTarget as HTMLInputElement).value))
  const said = rulerSentence(strip, place)
  return html`<section class="ruler-page" aria-label="How far it went">
    <div class="wide-only"
      @pointerdown=${(event: PointerEvent) => byPointer(event)}
      @pointermove=${(event: PointerEvent) => byPointer(event)}>
      ${figure({
        title: 'Each pour, and what the ruler takes in',
        svg: layersView(parts.layers, place.share, said),
        sentence: said,
        table: guard([curve], () => placesTable(curve)),
      })}
    </div>
    <div class="ruler-set">
      <button type="button" @click=${press(PRESS)}>stricter</button>
      <label>Ruler
        <input type="range" min="0" max=${last} step="1" .value=${String(nearest(curve, place.share))}
          aria-valuetext=${rulerWords(place)}
          @input=${(event: Event) => parts.move(index(event))} />
      </label>
      <button type="button" @click=${press(1 / PRESS)}>looser</button>
      <output>${rulerWords(place)}</output>
    </div>
  </section>`
}

/** With a step of the ruler only what it moves is drawn. */
function layersView({ size, still, moved }: RulerLayers, share: number, sentence: string) {
  const { width, height } = size
  const { below, above } = moved(share)
  return html`<svg class="drawing" viewBox=${`0 0 ${width} ${height}`} width=${width} height=${height}
    role="img" aria-label=${sentence}>${[below, still, above].map((layer) => svg`<g .innerHTML=${layer}></g>`)}</svg>`
}

function placesTable(curve: Curve): DirectiveResult {
  const rows = decadesOf(curve)
    .slice(1)
    .map((share) => takenAt(curve, curve.share[nearest(curve, share)]!))
  return table({
    caption: 'Five places of the ruler',
    columns: [
      {
        head: 'A casting counts from',
        isHead: true,
        cell: (row: RulerPlace) => shareWords(row.share),
      },
      { head: 'To hold', isNumber: true, cell: ({ toHold }) => countWords(toHold) },
      { head: 'Affected, expected', isNumber: true, cell: ({ expected }) => countWords(expected) },
      { head: 'Metal outside', isNumber: true, cell: ({ leftOut }) => outsideWords(leftOut) },
    ],
    rows: rows.slice(0, 5),
  })
}
